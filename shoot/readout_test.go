package shoot

import (
	"math"
	"testing"
)

// Two known modes fix the line: they must come back, and 720 rows take their share of the time between.
func TestReadout(t *testing.T) {
	t.Parallel()
	r, err := NewReadout([]Timed{{1080, 1000}, {570, 1884}})
	if err != nil {
		t.Fatal(err)
	}
	for rows, want := range map[int]float64{1080: 1000, 570: 1884, 720: 1 / (1/1884. + (1/1000.-1/1884.)*150/510)} {
		if got, ok := r.Rate(rows); !ok || math.Abs(got-want) > 1e-6*want {
			t.Errorf("%d rows: %g Hz, want %g", rows, got, want)
		}
	}
	for name, known := range map[string][]Timed{"one": {{1080, 1000}}, "alike": {{1080, 1000}, {1080, 900}}, "backwards": {{1080, 2000}, {570, 1000}}} {
		if _, err := NewReadout(known); err == nil {
			t.Errorf("%s: no complaint", name)
		}
	}
	// Drawn on below the overhead there is no rate.
	steep, err := NewReadout([]Timed{{1000, 1000}, {500, 4000}})
	if err != nil {
		t.Fatal(err)
	}
	if hz, ok := steep.Rate(100); ok {
		t.Errorf("a picture in less than no time: %g Hz", hz)
	}
}
