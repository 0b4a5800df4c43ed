package layer

import (
	"math"
	"testing"
)

// Known in flight alone, the vehicle is found at rest, to a cell; where it is not seen at rest, no
// place is sure.
func TestResting(t *testing.T) {
	t.Parallel()
	for seed := range uint64(3) {
		f := drawFlight(seed, flightFrames, flightFrames)
		want, _ := f.band.place(f.places[0], 0)
		rest, known := []int(nil), f.known
		known.Places = nil
		for i, p := range f.known.Places {
			if i < flightRest {
				rest = append(rest, p.Frame)
			} else if p.S-want > 6*f.band.Step {
				known.Places = append(known.Places, p)
			}
		}
		got := Resting(f.band, known, rest)
		if len(got) == 0 || got[0].P < 0.9 || math.Abs(got[0].S-want) > f.band.Step {
			t.Errorf("seed %d: rests at %+v, want %.1f px", seed, got, want)
		}
		for i := range flightRest { // as after it has gone
			copy(f.band.Frames[i].Pix, drawFlight(seed, 0, 2).band.Frames[i].Pix)
		}
		if got := Resting(f.band, known, rest); len(got) > 0 && got[0].P > 0.9 {
			t.Errorf("seed %d: rests at %+v where nothing is", seed, got[0])
		}
	}
}

// What covers the background behind the vehicle is not another light.
func TestEvenBeforeSmoke(t *testing.T) {
	t.Parallel()
	const to = 200 // levels, of the smoke
	f := drawFlight(1, flightFrames, flightFrames)
	clear := append([]float32(nil), f.band.Frames[0].Pix...)
	last := f.band.Frames[flightFrames-10].Pix
	for k := range int(f.places[flightFrames-10]-flightBack) * flightCols {
		last[k] = to + (last[k]-to)/8
	}
	newLocator(f.band, f.known).begin([]int{0})
	var e []float32
	for k := int(f.places[flightFrames-10]+flightFront+clearance) * flightCols; k < len(last); k++ {
		e = append(e, (last[k]-clear[k])*(last[k]-clear[k]))
	}
	if rms := math.Sqrt(medianOf * float64(middle(e))); rms > 4 {
		t.Errorf("what lies ahead is off by %.1f levels", rms)
	}
}
