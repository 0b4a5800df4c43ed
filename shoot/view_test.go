package shoot

import (
	"math"
	"testing"

	"padside/camera"
	"padside/scene"
)

func level(tilt float64) view {
	p := Place{Range: camera.Measured{Value: 8, Given: true}, Height: 0.6, Tilt: tilt, TiltGiven: true, Rotated: true}
	return newView(Mode{Width: 1920, Height: 1080}, 6.6e-6, Lens{FocalLength: 0.025}, p)
}

// Across a level view the field is W = Z d/f (thin lens far away), and metres per pixel its share.
func TestViewLevel(t *testing.T) {
	t.Parallel()
	v := level(0)
	low, high := v.edges()
	if want := 8 * 1920 * 6.6e-6 / 0.025; math.Abs(high-low-want) > 1e-9 {
		t.Errorf("field %g m, want %g", high-low, want)
	}
	if got, want := v.metresPerPixel(0.6), 8*6.6e-6/0.025; math.Abs(got-want) > 1e-12 {
		t.Errorf("%g m a pixel, want %g", got, want)
	}
}

// A tilted view: rows and heights go back and forth, metres per pixel are their slope, and package scene, which has a projection of its own, sees the same
// points in the same rows.
func TestViewTilted(t *testing.T) {
	t.Parallel()
	v := level(0.12)
	c := scene.Camera{Width: 1080, Height: 1920, FocalLength: 0.025, PixelPitch: 6.6e-6, Elevation: 0.6, Tilt: 0.12}
	for _, z := range []float64{0.1, 0.42, 1, 2.2, 3.4} {
		row := v.row(z)
		if back := v.height(row); math.Abs(back-z) > 1e-9 {
			t.Errorf("%g m is in row %g, which is at %g m", z, row, back)
		}
		const step = 1e-4
		slope := 2 * step / (v.row(z-step) - v.row(z+step))
		if got := v.metresPerPixel(z); math.Abs(got-slope) > 1e-6*slope {
			t.Errorf("at %g m: %g m a pixel, slope %g", z, got, slope)
		}
		if p := c.Project(0, z, 8); math.Abs(p.Y-row) > 1e-6 {
			t.Errorf("%g m: row %g, package scene sees it in %g", z, row, p.Y)
		}
	}
}

// Without a stated tilt the camera is aimed so that the ground in front of the pad is just in the picture.
func TestViewAims(t *testing.T) {
	t.Parallel()
	p := Place{Range: camera.Measured{Value: 6, Given: true}, Height: 1.2, Rotated: true}
	v := newView(Mode{Width: 1920, Height: 1080}, 6.6e-6, Lens{FocalLength: 0.025}, p)
	if low, _ := v.edges(); !(low < 0 && low > -0.3) {
		t.Errorf("the picture's lower edge shows %g m", low)
	}
}
