package trace

import (
	"testing"

	"padside/register"
)

// A lane that looked back past frames it could not read may have begun elsewhere. What rests came
// from nowhere; what is caught and thrown on, or moves by itself, stays.
func TestFalseStart(t *testing.T) {
	camera := func(int, float64, float64) (float64, float64) { return 0, 0 }
	for _, c := range []struct {
		name string
		y    []float64
		want int // sightings cut
	}{
		{"at rest", []float64{300, 300, 300.1, 300, 300, 299}, 0},
		{"two elsewhere", []float64{20, 180, 300, 300, 300.1, 300, 300, 290}, 2},
		{"in flight", []float64{300, 270, 230, 180, 120, 50}, 0},
	} {
		l := &lane{patch: register.Area{X: 0, Y: 0, W: 20, H: 30}, camera: camera}
		for i, y := range c.y {
			l.sights = append(l.sights, sighting{frame: i, x: 50, y: y})
		}
		if l.cutFalseStart(); len(c.y)-len(l.sights) != c.want {
			t.Errorf("%s: %d cut, want %d", c.name, len(c.y)-len(l.sights), c.want)
		}
	}
}
