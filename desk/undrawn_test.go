package desk

import (
	"math"
	"slices"
	"strings"
	"testing"

	"padside/camera"
	"padside/fault"
	"padside/logbook"
	"padside/motion"
	"padside/picture"
	"padside/timebase"
	"padside/trace"
)

// bandOf is a lane whose streak has so many columns.
func bandOf(t *testing.T, columns int) Lane {
	t.Helper()
	spec := camera.Spec{Kind: camera.KindLength, Length: camera.Measured{Value: 1, Given: true}, Ends: [2]camera.Pixel{{X: 50, Y: 150}, {X: 50, Y: 190}}, Width: 100, Height: 200}
	line := camera.FlightLine{Rest: camera.Pixel{X: 50, Y: 150}, Uy: -1}
	scale, _, err := camera.Calibrate(spec, line, 100, camera.Growth{})
	if err != nil {
		t.Fatal(err)
	}
	s := &trace.Streak{Rows: 20, S0: -40, Step: 10}
	for i := range columns {
		s.Frames = append(s.Frames, i)
		s.Pix = append(s.Pix, make([]uint8, s.Rows)...)
	}
	return Lane{Path: trace.Path{Lane: 1, Line: line, Streak: s}, Scale: scale, Motion: &motion.Result{}, band: levelRows(s, scale)}
}

// A streak of one column cannot be drawn: the answers are kept all the same, and say so.
func TestPictureCostsNothing(t *testing.T) {
	t.Parallel()
	base, err := timebase.NewList([]float64{0, 0.1, 0.2}, timebase.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for columns, drawn := range map[int]bool{0: false, 1: false, 3: true} {
		m := Measurement{Launch: &logbook.Launch{}, Sheet: &Sheet{Warnings: []fault.Warning{}}, base: base, Lanes: []Lane{bandOf(t, columns)}}
		files, err := m.files()
		if err != nil {
			t.Fatalf("%d columns: %v", columns, err)
		}
		if _, ok := files["streak.png"]; ok != drawn {
			t.Errorf("%d columns: a streak %v, want %v", columns, ok, drawn)
		}
		answers, err := m.sealed(nil)
		if err != nil {
			t.Fatalf("%d columns: %v", columns, err)
		}
		said := strings.Contains(string(answers), `"picture-missing"`)
		if said == drawn {
			t.Errorf("%d columns: the answers say that a picture is missing: %v", columns, said)
		}
	}
}

// Beyond the vanishing point of a scale height has no value: the streak is drawn up to there.
func TestLevelRows(t *testing.T) {
	t.Parallel()
	lane := bandOf(t, 3)
	s := *lane.Path.Streak
	s.Rows, s.S0 = 4000, -20_000 // far beyond what a lens shows above and below
	s.Pix = make([]uint8, s.Rows*len(s.Frames))
	got := levelRows(&s, lane.Scale)
	if got == nil {
		t.Fatal("nothing is left")
	}
	if low, high := got.S0, got.S0+got.Step*float64(got.Rows-1); low > -40 || high < 100 {
		t.Errorf("rows from %g to %g px along the flight line, want those about rest and more", low, high)
	}
	for r := range got.Rows - 1 {
		a, b := lane.Scale.Height(got.S0+got.Step*float64(r)), lane.Scale.Height(got.S0+got.Step*float64(r+1))
		if !(b > a) || math.IsInf(b, 0) {
			t.Fatalf("row %d: from %g to %g m", r, a, b)
		}
	}
}

// A photo finish that cannot be laid out is a warning of the race.
func TestPhotoFinishCostsNothing(t *testing.T) {
	t.Parallel()
	r := contest{sheet: &RaceSheet{}, o: RaceOptions{Still: "never.png"}}
	if _, err := (&picture.PhotoFinish{}).PNG(); err == nil {
		t.Fatal("a photo finish of nothing is drawn")
	}
	if err := r.still(); err != nil || r.sheet.Still != nil {
		t.Errorf("%v, %+v", err, r.sheet.Still)
	}
	if !slices.ContainsFunc(r.sheet.Warnings, func(w fault.Warning) bool { return w.Code == "picture-missing" }) {
		t.Errorf("warnings %v", r.sheet.Warnings)
	}
}
