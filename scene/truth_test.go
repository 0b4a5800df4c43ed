package scene

import (
	"math"
	"math/big"
	"testing"

	"padside/timebase"
)

// The truth's instants are those the time base gives the rows that show them.
func TestTruthTimes(t *testing.T) {
	t.Parallel()
	take := BottleRocket(3, BottleOptions{Rate: 1600, Shake: 0.5})
	s := take.Scene
	s.Camera.RowTime = 4e-6
	base := timebase.Base{Basis: timebase.Rate, Hz: big.NewRat(1600, 1), Exposure: s.Camera.Exposure, Shutter: timebase.Shutter{RowTime: s.Camera.RowTime}}
	for _, i := range []int{0, 30, 90, 140} {
		got := s.Truth(1, i, take.Traced)
		if want := base.Time(i, got.Pixel.Y); math.Abs(got.T-want) > 1e-12 {
			t.Errorf("frame %d: T = %.12f, the time base has %.12f", i, got.T, want)
		}
		if want := s.Vehicles[0].Motion.At(got.T - s.Vehicles[0].Start); got.State != want {
			t.Errorf("frame %d: state %v, want %v", i, got.State, want)
		}
	}
}

// LastInView is where the traced point crosses the picture's edge.
func TestLastInView(t *testing.T) {
	t.Parallel()
	take := BottleRocket(3, BottleOptions{})
	s := take.Scene
	last := s.LastInView(1, take.Traced)
	s.Stamps = []float64{last - s.Camera.Exposure/2}
	if y := s.Truth(1, 0, take.Traced).Pixel.Y; math.Abs(y+0.5) > 1e-6 {
		t.Errorf("at LastInView the nose is at row %g, want -0.5", y)
	}
}

// What the known answers say is what the motion does.
func TestKnown(t *testing.T) {
	t.Parallel()
	take := MotorRocket(6)
	f, start := take.Flights[0], take.Scene.Vehicles[0].Start
	n := 0
	for _, k := range take.Known() {
		switch k.ID {
		case "time_to_speed":
			if v := f.At(f.FirstMotion + k.Value).Speed; math.Abs(v-k.At) > 1e-9*k.At {
				t.Errorf("speed after %g s = %g, want %g", k.Value, v, k.At)
			}
			n++
		case "gate_crossing":
			if h := f.At(k.Value - start).Height; math.Abs(h-k.At) > 1e-9*k.At {
				t.Errorf("height at %g s = %g, want %g", k.Value, h, k.At)
			}
			n++
		}
	}
	if n < 4 {
		t.Errorf("Known speaks of %d speeds and gates, want 4 or more", n)
	}
}
