package shoot

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The chances are those that come out when the burst is pressed 20,000 times.
func TestChance(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 5))
	b := Burst{Frames: 7, Lag: 0.055}
	for _, tr := range triggers {
		for _, start := range []float64{-0.9, -0.3, -0.1, 0} {
			var seen [4]int
			const presses = 20_000
			for range presses {
				at := start + b.Lag + tr.mean + tr.spread*r.NormFloat64()
				n := 0
				for j := range b.Frames {
					if p := at + float64(j)/10; p >= 0 && p <= 0.26 {
						n++
					}
				}
				for k := 1; k <= min(3, n); k++ {
					seen[k]++
				}
			}
			for k := 1; k <= 3; k++ {
				got, want := chance(b, 10, 0.26, tr, start, k), float64(seen[k])/presses
				if math.Abs(got-want) > 0.012 { // three deviations of the simulation, and the quadrature's step
					t.Errorf("%s, pressed at %g s, %d pictures: %.3f, simulated %.3f", tr.name, start, k, got, want)
				}
			}
		}
	}
}

// A launch gone in 0.15 s is missed by whoever waits to see it; pressed ahead, a burst of ten a second always has one picture and never three.
func TestCaught(t *testing.T) {
	t.Parallel()
	c := Camera{Name: "stills", Burst: &Burst{Frames: 60, Lag: 0.055}}
	watched := caught(c, 10, 0.15, triggers[0], nil)
	if watched.Chance[0] > 0.1 || watched.Start != triggers[0].mean {
		t.Errorf("pressed when seen: %+v", watched)
	}
	counted := caught(c, 10, 0.15, triggers[1], []int{1})
	if counted.Chance[0] < 0.999 || counted.Chance[1] < 0.4 || counted.Chance[1] > 0.6 || counted.Chance[2] > 1e-3 || counted.asked[0] != counted.Chance[0] {
		t.Errorf("pressed on the count: %+v", counted)
	}
	if counted.Start > -1 || counted.Start < -5 {
		t.Errorf("press %g s before: not about half of the six seconds it runs", -counted.Start)
	}
}
