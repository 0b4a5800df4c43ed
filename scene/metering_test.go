package scene

import (
	"math"
	"testing"
)

func TestMeteringTurns(t *testing.T) {
	t.Parallel()
	m := Metering{{At: 1, Gain: 2}, {At: 2, Over: 4, Gain: 0.5}}
	for _, c := range []struct{ t, want float64 }{{-3, 1}, {0.999, 1}, {1, 2}, {1.9, 2}, {2, 2}, {4, 1.25}, {6, 0.5}, {99, 0.5}} {
		if got := m.at(c.t); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("gain at %g s = %g, want %g", c.t, got, c.want)
		}
	}
}

// The mean over an exposure against sums over it, and what is known of whole periods: nothing is left of the pulses.
func TestMainsOverExposure(t *testing.T) {
	t.Parallel()
	m := Mains{Hz: 100, Depth: 0.6, Phase: 0.21}
	for _, e := range []float64{1e-6, 1e-3, 4e-3, 9e-3, 17e-3} {
		var sum float64
		const n = 20000
		for i := range n {
			sum += 1 + 0.6*math.Cos(2*math.Pi*(100*(0.0137+e*(float64(i)+0.5)/n)+0.21))
		}
		if got := m.over(0.0137, e); math.Abs(got-sum/n) > 1e-6 { // of the sum
			t.Errorf("over %g s = %g, want %g", e, got, sum/n)
		}
	}
	if got := m.over(0.4, 0.02); math.Abs(got-1) > 1e-12 {
		t.Errorf("over two whole periods = %g, want 1", got)
	}
}

// Bands of mains light lie as far apart as its period holds rows, and travel from frame to frame by what the frame time is off a
// whole number of periods; read sideways, they are columns.
func TestMainsBands(t *testing.T) {
	t.Parallel()
	grey := func(r Readout) *Scene {
		s := &Scene{Camera: Camera{Width: 300, Height: 300, FocalLength: 0.1, PixelPitch: 1e-5, Elevation: 1, RowTime: 1e-4, Readout: r, Exposure: 1e-3},
			Mains: Mains{Hz: 100, Depth: 0.5}, Stamps: Rate(2, 60), Sensor: Sensor{Depth: 16, Mono: true}}
		s.prepare()
		for _, p := range s.still.planes {
			for i := range p {
				p[i] = 0.4
			}
		}
		s.once.Do(func() {}) // it is prepared
		return s
	}
	for _, r := range []Readout{FromTop, FromBottom, FromLeft, FromRight} {
		s := grey(r)
		for i := range 2 {
			f := s.Frame(i)
			for _, at := range [][2]int{{0, 0}, {17, 250}, {250, 17}, {299, 299}} {
				line := map[Readout]int{FromTop: at[1], FromBottom: 299 - at[1], FromLeft: at[0], FromRight: 299 - at[0]}[r]
				begin := float64(i)/60 + 1e-4*float64(line)
				pulse := math.Sin(math.Pi*0.1) / (math.Pi * 0.1) * math.Cos(2*math.Pi*100*(begin+0.5e-3))
				want := 65535 * 0.4 * (1 + 0.5*pulse)
				if got := float64(f.Pix16[at[1]*300+at[0]]); math.Abs(got-want) > 2 { // of 65535: rounding
					t.Errorf("readout %d, frame %d, pixel %v = %g, want %g", r, i, at, got, want)
				}
			}
		}
	}
}
