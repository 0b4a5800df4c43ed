package register

import (
	"math"
	"testing"
)

// TestFields: how a spline is drawn out is checked against the mean of single interpolations, and
// its derivatives against differences of them.
func TestFields(t *testing.T) {
	t.Parallel()
	const (
		mostBlurred = 0.05 // levels: at is good to 1/4096 px, and the picture is as rough as noise of 70 levels
		mostSlope   = 0.5  // levels/px, for the same reason, over steps of 1/64 px
	)
	b := NewBasis()
	for _, c := range []struct {
		bx, by float64
		w, h   int
	}{{0.1, 3, 90, 100}, {5, 40, 60, 70}, {0, 0.5, 40, 30}, {-7.3, 2.1, 50, 40}, {50, 3, 60, 60}, {3, 3, 9, 9}} {
		s := &Spline{basis: b}
		pix := make([]float32, c.w*c.h)
		for i := range pix {
			pix[i] = float32(i * 7919 % 255)
		}
		s.Set(pix, c.w, c.h)
		got := Blurred(s, c.bx, c.by)
		n := int(math.Ceil(1.3*math.Hypot(c.bx, c.by))) + 1
		for k, v := range got {
			var want float64
			for j := range n {
				f := (float64(j)+0.5)/float64(n) - 0.5
				x := min(max(float64(k%c.w)+f*c.bx, 2), float64(c.w)-4.01)
				y := min(max(float64(k/c.w)+f*c.by, 2), float64(c.h)-4.01)
				want += float64(s.At(float32(x), float32(y))) / float64(n)
			}
			if math.Abs(float64(v)-want) > mostBlurred {
				t.Fatalf("blurred by (%g, %g) at (%d, %d): %.3f, want %.3f", c.bx, c.by, k%c.w, k/c.w, v, want)
			}
		}
		value, gx, gy := s.Derivatives(3, 3, c.w-8, c.h-8)
		const step = 1.0 / 64
		for k := range value {
			x, y := float32(3+k%(c.w-8)), float32(3+k/(c.w-8))
			wx := (s.At(x+step, y) - s.At(x-step, y)) / (2 * step)
			wy := (s.At(x, y+step) - s.At(x, y-step)) / (2 * step)
			if abs32(value[k]-s.At(x, y)) > mostBlurred || abs32(gx[k]-wx) > mostSlope || abs32(gy[k]-wy) > mostSlope {
				t.Fatalf("at (%g, %g): %.3f, slopes %.3f and %.3f, want %.3f, %.3f and %.3f", x, y, value[k], gx[k], gy[k], s.At(x, y), wx, wy)
			}
		}
	}
}

func abs32(x float32) float32 { return max(x, -x) }
