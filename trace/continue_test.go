package trace

import (
	"math"
	"testing"

	"padside/camera"
	"padside/register"
	"padside/stabilise"
)

// flown is a refiner whose sightings fly up the picture by half of accel px a frame squared, the
// first fine ones matched closely, the others coarse and off by what off says.
func flown(n, fine int, accel float64, off func(i int) (along, across float64)) *refiner {
	r := &refiner{steady: &stabilise.Background{}, line: camera.FlightLine{Rest: camera.Pixel{X: 50, Y: 400}, Uy: -1}, rest: []int{0}, coarse: make([]bool, n), matches: make([]register.Match, n), warps: make([]register.Warp, n)}
	for i := range n {
		r.sights = append(r.sights, sighting{frame: i, t: float64(i) / 100, quality: 0.9})
		along, across := 0.0, 0.0
		if i >= fine {
			along, across = off(i)
		}
		r.warps[i] = register.Warp{X: 50 + across, Y: 400 - accel*float64(i*i)/2 - along, A: 1}
		if i >= fine {
			r.takeCoarse(i, 0.3)
			continue
		}
		r.matches[i] = register.Match{Warp: r.warps[i], OK: true, Quality: 0.95, White: [2][2]float64{{0.01, 0}, {0, 0.01}}}
	}
	return r
}

// Of the coarse places after the last close match those stay that continue the path; from a leap
// along the flight or across it on none does, whatever comes after.
func TestCoarsePlacesContinueThePath(t *testing.T) {
	const n, fine, leaps = 24, 12, 18
	for _, c := range []struct {
		name string
		off  func(i int) (along, across float64)
		want int // the first that is left out
	}{
		{"as they are", func(int) (float64, float64) { return 0, 0 }, n},
		{"a pixel off", func(i int) (float64, float64) { return float64(i % 2), 0.5 }, n},
		{"left behind", func(i int) (float64, float64) { return -math.Max(0, float64(i-leaps+1)) * 9, 0 }, leaps},
		{"beside, then on the path again", func(i int) (float64, float64) {
			if i == leaps || i == leaps+1 {
				return 0, 13
			}
			return 0, 0
		}, leaps},
	} {
		r := flown(n, fine, 1.5, c.off)
		r.judgeCoarse()
		for i := range n {
			if r.adrift[i] != (i >= c.want) {
				t.Errorf("%s: sighting %d left out: %v, want those from %d on", c.name, i, r.adrift[i], c.want)
				break
			}
		}
	}
}

// Where coarse places come before the first close match they are judged back from there; of what
// falls they are not, for a hand holds it.
func TestCoarsePlacesBeforeTheFirstMatch(t *testing.T) {
	const n, fine = 16, 6
	for _, falls := range []bool{false, true} {
		r := flown(n, n, 0, nil)
		r.falls = falls
		for i := range fine {
			r.warps[i].Y += 40
			r.takeCoarse(i, 0.3)
		}
		r.judgeCoarse()
		for i := range n {
			if want := i < fine && !falls; r.adrift[i] != want {
				t.Errorf("falls %v: sighting %d left out: %v, want %v", falls, i, r.adrift[i], want)
			}
		}
	}
}

// Coarse places err by a pixel together, beside their scatter: it is stated where the vehicle is
// off its rest, and only there.
func TestCoarsePlacesErrTogether(t *testing.T) {
	const n, fine = 20, 10
	r := flown(n, fine, 1, func(int) (float64, float64) { return 0, 0 })
	r.doubtCoarse()
	for i, u := range r.doubt {
		if want := map[bool]float64{true: coarseTogether}[i >= fine]; u != want {
			t.Errorf("doubt of sighting %d: %g, want %g", i, u, want)
		}
	}
	points := []Point{{Frame: fine, U: 0.3, Source: SourceCoarse}}
	if r.addDoubt(points); points[0].UDoubt != coarseTogether {
		t.Errorf("the point states %g, want %g", points[0].UDoubt, coarseTogether)
	}
}
