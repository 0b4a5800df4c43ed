package layer

import (
	"math"
	"math/rand/v2"
	"testing"
)

// flight is a drawn band: a striped vehicle of 11 by 5 cells that speeds up evenly before a
// background of its own brightness on average, with noise of two levels and smoke behind it.
type flight struct {
	band   *Band
	places []float64 // rows, of the traced point
	known  Known
}

const (
	flightRows, flightCols   = 150, 19
	flightFrames, flightRest = 60, 12
	flightBack, flightFront  = 5, 5  // rows of the vehicle about its traced point
	flightAside              = 2     // columns
	flightStart              = 12    // row
	flightGain               = 0.055 // rows per square of a frame
)

// drawFlight draws it, without the vehicle in the frames from hidden on; taught is the number of
// frames in which its place is known.
func drawFlight(seed uint64, hidden, taught int) *flight {
	r := rand.New(rand.NewPCG(seed, 7))
	back, smoke := make([]float64, flightRows*flightCols), make([]float64, flightRows*flightCols)
	for k := range back {
		x, y := float64(k%flightCols), float64(k/flightCols)
		back[k] = 120 + 30*math.Sin(0.9*x+0.2*y) + 25*math.Sin(0.31*y-0.4*x) + 8*r.NormFloat64()
		smoke[k] = 60 * r.Float64()
	}
	var look [flightBack + flightFront + 1]float64
	for k := range look {
		look[k] = 60 + 140*r.Float64()
	}
	f := &flight{band: &Band{Step: 2, S0: -2 * flightStart, Rows: flightRows, Cols: flightCols}}
	for i := range flightFrames {
		t := float64(max(0, i-flightRest))
		at := flightStart + flightGain*t*t
		f.places = append(f.places, at)
		pix := make([]float32, len(back))
		light := 1 + 0.1*math.Sin(float64(i)) // as lamps on mains
		for k := range pix {
			v, row, col := back[k], float64(k/flightCols), k%flightCols-flightCols/2
			if row < at-flightBack {
				v = min(v+smoke[k]*min(1, t/20), 250)
			}
			if q := int(math.Floor(row - at + flightBack + 0.5)); i < hidden && q >= 0 && q < len(look) && col*col <= flightAside*flightAside {
				v = look[q]
			}
			pix[k] = float32(light*v + 2*r.NormFloat64())
		}
		f.band.Frames = append(f.band.Frames, Frame{Index: 100 + i, T: float64(i) / 240, Pix: pix})
		if i < taught {
			s, c := f.band.place(at, float64(flightCols-1)/2)
			f.known.Places = append(f.known.Places, Place{Frame: 100 + i, S: s, C: c, P: 1})
		}
	}
	f.known.Extent = Extent{Ahead: 2 * flightFront, Behind: 2 * flightBack, Aside: 2 * flightAside}
	f.known.Rests, f.known.LastRest, f.known.Noise = true, 100+flightRest, 2
	return f
}

// Learned from half of the flight, the vehicle is found in the rest of it, to a cell.
func TestLocate(t *testing.T) {
	t.Parallel()
	for seed := range uint64(3) {
		f := drawFlight(seed, flightFrames, 36)
		found := 0
		for _, q := range Locate(f.band, f.known) {
			want, _ := f.band.place(f.places[q.Frame-100], 0)
			switch off := math.Abs(q.S - want); {
			case off > 2+f.band.Step && q.P > 0.95:
				t.Errorf("seed %d, frame %d: sure of a place %.1f px off", seed, q.Frame, off)
			case off <= f.band.Step && q.P > 0.5:
				found++
			}
		}
		if last := flightFrames - flightRest - 1; found < last-4 {
			t.Errorf("seed %d: found in %d of %d frames", seed, found, last)
		}
	}
}

// A vehicle that is no longer there is not found, though smoke that it left differs from the
// background.
func TestLocateLost(t *testing.T) {
	t.Parallel()
	const hidden = 40
	for seed := range uint64(3) {
		f := drawFlight(seed, hidden, 36)
		sure := 0
		for _, q := range Locate(f.band, f.known) {
			if q.Frame >= 100+hidden && q.P > 0.95 {
				sure++
			}
		}
		if sure > 1 {
			t.Errorf("seed %d: sure of a place in %d frames without the vehicle", seed, sure)
		}
	}
}

// Gain and offset of frames are taken back, whatever part of the band the vehicle covers.
func TestEven(t *testing.T) {
	t.Parallel()
	f := drawFlight(1, flightFrames, 2)
	ref := append([]float32(nil), f.band.Frames[0].Pix...)
	newLocator(f.band, f.known).begin([]int{0})
	for i := range f.band.Frames {
		var e []float32
		for k := flightCols * 140; k < flightCols*flightRows; k++ { // nothing flies there yet
			d := f.band.Frames[i].Pix[k] - ref[k]
			e = append(e, d*d)
		}
		if rms := math.Sqrt(medianOf * float64(middle(e))); i < 30 && rms > 4 {
			t.Errorf("frame %d scatters by %.1f levels after its light was taken back", i, rms)
		}
	}
}
