package motion

import (
	"math"
	"math/rand/v2"
	"testing"

	"padside/camera"
)

// TestShearedMotion: of h = v t + a t^2/2, seen with the delay c h, the true clock is t + c h. Speed
// and acceleration by that clock, from the closed form by implicit differentiation, against numerical ones.
func TestShearedMotion(t *testing.T) {
	t.Parallel()
	d := Delay{T0: 2e-3, T1: 4e-3, T2: 6e-4}
	const v, a, at, step = 12.0, 150.0, 0.08, 1e-5
	h := func(t float64) float64 { return v*t + a*t*t/2 }
	clock := func(t float64) float64 { late, _, _ := d.At(h(t)); return t + late }
	speed := func(t float64) float64 { return (h(t+step) - h(t-step)) / (clock(t+step) - clock(t-step)) }
	pull := (speed(at+step) - speed(at-step)) / (clock(at+step) - clock(at-step))
	got := d.sheared(h(at), v+a*at, a)
	const numerical = 1e-5 // relative, of the differences
	if math.Abs(got.v/speed(at)-1) > numerical || math.Abs(got.a/pull-1) > numerical {
		t.Errorf("speed %g, acceleration %g; want %g, %g", got.v, got.a, speed(at), pull)
	}
}

// TestDelayInReading: a uniform motion of 20 m/s seen by a camera that reads upwards at 0.01 s/m
// passes for 25 m/s; the true delay gives back speed, crossing and first motion.
func TestDelayInReading(t *testing.T) {
	t.Parallel()
	const late = 0.01 // s for each metre up
	seen := &path{t0: 1, h0: 0, end: math.Inf(1), knots: []knot{{1, vec{v: 25}}, {1.2, vec{h: 5, v: 25}}}}
	var r reading
	r.reset(seen, truth{clock: 1, delay: Delay{T0: 0.002, T1: late}})
	const rounding = 1e-9
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"speed", r.speedAt(1.1), 20},
		{"first motion", r.begin(), 1.002},
		{"2 m", r.clocked(r.gate(2)), 1.002 + 2.0/20},
		{"mean acceleration", r.meanAcceleration(1.02, 0.1), 0},
	} {
		if math.Abs(c.got-c.want) > rounding {
			t.Errorf("%s: %g, want %g", c.name, c.got, c.want)
		}
	}
}

// TestDelayAsWarp: what is pulled evenly by a, seen with the delay c h, is seen at t where the true motion
// is at t + c h. To first order in c the warp of heights is the same.
func TestDelayAsWarp(t *testing.T) {
	t.Parallel()
	const a, c, top = 80.0, -1e-4, 2.0
	const cubic = 0.005 // of the delay: a cubic through three heights is no root
	speed := func(h float64) float64 { return math.Sqrt(2 * a * h) }
	common := Common{Delay: func(*rand.Rand, string) Delay { return Delay{T0: 0.01, T1: c} }, DelaySources: []string{"rolling shutter"}}
	got := common.Warped(speed, top).Warp(nil, nil, "")
	for _, h := range []float64{0.7, 1.3, 2} {
		y, _, _ := got.At(h)
		if want := h - speed(h)*c*h; math.Abs(y-want) > cubic*math.Abs(want-h) {
			t.Errorf("height %g m becomes %g m, want %g m", h, y, want)
		}
	}
	if (common.Warped(speed, top).Delay != nil) || got == (camera.Warp{}) {
		t.Error("the delay is counted twice, or not at all")
	}
}
