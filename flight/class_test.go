package flight

import (
	"math"
	"testing"
)

// TestMotorClass: classes as several public texts quote them after NFPA 1125: C 5.01 to 10 N s, F 40.01 to 80, M 5120 to 10240; the
// lower ends are printed 0.01 above the class below.
func TestMotorClass(t *testing.T) {
	t.Parallel()
	for code, want := range map[string][3]float64{"C6-3": {5, 10, 6}, "1/2A3-2T": {0.625, 1.25, 3}, "1/4a3": {0.3125, 0.625, 3}, "f50": {40, 80, 50}, "M1419": {5120, 10240, 1419}, "G80": {80, 160, 80}} {
		least, most, thrust, ok := MotorClass(code)
		if !ok || math.Abs(least-want[0]) > 1e-9 || math.Abs(most-want[1]) > 1e-9 || thrust != want[2] {
			t.Errorf("MotorClass(%q) = %g, %g, %g, %v, want %v", code, least, most, thrust, ok, want)
		}
	}
	// Upper ends as the same texts list them, A to O.
	for i, most := range []float64{2.5, 5, 10, 20, 40, 80, 160, 320, 640, 1280, 2560, 5120, 10240, 20480, 40960} {
		code := string(rune('A'+i)) + "10"
		if least, got, _, ok := MotorClass(code); !ok || got != most || least != most/2 {
			t.Errorf("MotorClass(%q) ends at %g N s, %v, want %g", code, got, ok, most)
		}
	}
	for _, bad := range []string{"", "6", "Z9", "C", "C-3", "CX", "C-6", "CInf", "CNaN"} {
		if _, _, _, ok := MotorClass(bad); ok {
			t.Errorf("MotorClass(%q) was read", bad)
		}
	}
	for _, c := range []struct {
		impulse, thrust, propellant float64
		want                        bool
	}{{160, 80, 0.125, false}, {161, 50, 0.1, true}, {100, 81, 0.06, true}, {150, 50, 0.126, true}} {
		if got := HighPower(c.impulse, c.thrust, c.propellant); got != c.want {
			t.Errorf("HighPower(%g, %g, %g) = %v", c.impulse, c.thrust, c.propellant, got)
		}
	}
}
