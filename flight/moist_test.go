package flight

import (
	"math"
	"testing"
)

// Values derived beforehand from the same formula by another program, three decimals; the vapour pressure of water at 20 degrees Celsius is
// 2339 Pa in every table of it.
func TestMoistExponent(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ bar, celsius, want float64 }{
		{2, 20, 1.231}, {3, 20, 1.260}, {5, 20, 1.296}, {8, 20, 1.325}, {3, 10, 1.297}, {3, 30, 1.226},
	} {
		n, ok := MoistExponent(c.bar*1e5, 273.15+c.celsius)
		if !ok || math.Abs(n-c.want) > 1e-3 {
			t.Errorf("MoistExponent(%g bar, %g degC) = %.4f, %v, want %.3f", c.bar, c.celsius, n, ok, c.want)
		}
	}
	wantRel(t, "vapour pressure", saturation(293.15), 2339, 4e-3)
	if n, ok := MoistExponent(5e5, 200); !ok || math.Abs(n-1.4) > 1e-3 {
		t.Errorf("frozen dry air has the exponent %g, %v, want 1.4", n, ok)
	}
	if _, ok := MoistExponent(1e5, 373.15); ok {
		t.Error("boiling water has an exponent, want none")
	}
	// A thrust stand's 1.1 and dry air's 1.4 bracket what a launch can have (Thorncroft et al. 2009).
	for p := 2e5; p < 9e5; p += 1e5 {
		if n, _ := MoistExponent(p, 288.15); !(n > 1.1 && n < 1.4) {
			t.Errorf("exponent %g at %g Pa", n, p)
		}
	}
}
