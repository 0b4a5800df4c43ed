package shoot

import (
	"math"
	"testing"

	"padside/camera"
)

// 30 m/s at 2 mm a pixel blurs over half a pixel in 33 us: recomputed from blur = v t/(metres per pixel).
func TestBlur(t *testing.T) {
	t.Parallel()
	c := Camera{Shortest: 33.333e-6, Longest: 33.333e-6, LowestISO: 1, HighestISO: 1e9}
	if e := expose(c, Lens{Widest: 1.4}, 14, 1000, 30/0.002); math.Abs(e.blur-0.5) > 1e-3 {
		t.Errorf("blur %g px, want 0.5", e.blur)
	}
}

// Whatever is chosen exposes rightly by the exposure equation, within what the camera can, or says by how much it does not.
func TestExpose(t *testing.T) {
	t.Parallel()
	c := Camera{Shortest: 5e-6, Longest: 0.01, LowestISO: 500, HighestISO: 8000}
	l := Lens{Widest: 1.4}
	for _, light := range []float64{-2, 3, 7, 12, 15, 20} {
		for _, speed := range []float64{10, 1e3, 2e4, 1e6} {
			e := expose(c, l, light, 1000, speed)
			if e.time < c.Shortest || e.time > 0.00095+1e-12 || e.iso < c.LowestISO-1e-9 || e.iso > c.HighestISO+1e-9 || e.aperture < l.Widest-1e-9 || e.aperture > smallest+1e-9 {
				t.Errorf("EV %g, %g px/s: %+v is not what the camera can", light, speed, e)
			}
			off := camera.LightValue(e.aperture, e.time, e.iso) - light // stops too dark
			switch {
			case e.short > 0:
				if math.Abs(off-e.short) > 1e-9 || e.time < 0.00095-1e-12 || e.iso != c.HighestISO || e.aperture != l.Widest {
					t.Errorf("EV %g, %g px/s: %g stops short, says %g: %+v", light, speed, off, e.short, e)
				}
			case e.bright:
				if off >= 0 {
					t.Errorf("EV %g, %g px/s: too bright, it says, by %g stops", light, speed, -off)
				}
			case math.Abs(off) > 1e-9:
				t.Errorf("EV %g, %g px/s: %g stops off: %+v", light, speed, off, e)
			}
			if math.Abs(e.blur-speed*e.time) > 1e-9*e.blur {
				t.Errorf("blur %g px", e.blur)
			}
		}
	}
	// Where light abounds, blur is what was wanted.
	if e := expose(c, l, 14, 1000, 2e4); math.Abs(e.blur-wantedBlur) > 1e-9 {
		t.Errorf("blur %g px in good light", e.blur)
	}
}
