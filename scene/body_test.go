package scene

import (
	"math"
	"testing"
)

// lookUp is a camera that sees 1 mm per pixel on what stands 10 m away, tilted so that it sees heights from 2 to 3 m above itself in a picture of 1000 rows.
func lookUp(width int) Camera {
	c := Camera{Width: width, Height: 1000, FocalLength: 0.1, PixelPitch: 1e-5, Tilt: math.Atan(0.25)}
	c.FocalLength *= math.Hypot(1, 0.25)
	return c
}

// solid draws one part without light at height y.
func solid(c Camera, p part, y float64) *canvas { return drawn(c, p, 0, y, at(0)) }

// tolEdge: the drawn edges' errors, px: across, eight samples per pixel; along, perspective within a pixel.
const tolEdge = 0.01

// TestSolidBands: where bands of a tube and of its nose meet is where the points of those circles that face the camera are seen, projected one by one.
func TestSolidBands(t *testing.T) {
	t.Parallel()
	const r, length, nose = 0.06, 0.9, 0.25
	for _, k := range []struct {
		name string
		cam  Camera
		y    float64
	}{{"from below", lookUp(160), 2.05}, {"level", square(160, 1100), -0.45}, {"from above", Camera{Width: 160, Height: 1000, FocalLength: 0.1, PixelPitch: 1e-5, Tilt: -0.2}, -2.5}} {
		t.Run(k.name, func(t *testing.T) {
			t.Parallel()
			o := newOgive(r, length-nose, nose)
			for _, at := range []float64{0.1, 0.4, 0.6, 0.7, 0.78} {
				p := tube(r, length, nose, nil, []Band{{0, RGB{1, 1, 1}}, {at, RGB{0.2, 0.2, 0.2}}})
				out := solid(k.cam, p, k.y)
				radius, _ := o.surface(at)
				for _, across := range []float64{-0.7, -0.2, 0, 0.5, 0.8} {
					x, y := onRing(&k.cam, k.y+at, radius, across*radius)
					near := int(math.Round(x))
					// The column's middle, not the point's x: to it along the circle.
					x2, y2 := onRing(&k.cam, k.y+at, radius, across*radius+(float64(near)-x)*1e-3)
					y = y2 + (float64(near)-x2)*(y2-y)/nonZero(x2-x)
					row := int(math.Round(y))
					if row < 12 || row > k.cam.Height-12 {
						t.Fatalf("the ring at %g m is out of view at row %d", at, row)
					}
					if got := edge(out, near, row-9, row+9); math.Abs(got-y) > tolEdge {
						t.Errorf("ring at %g m, %g of its radius across: drawn at %.4f, want %.4f", at, across, got, y)
					}
				}
			}
		})
	}
}

func nonZero(x float64) float64 {
	if math.Abs(x) < 1e-9 {
		return 1
	}
	return x
}

// onRing projects the near point of an upright circle at height y and range 10 m that lies across m to the right of the axis.
func onRing(c *Camera, y, radius, across float64) (px, py float64) {
	p := c.Project(across, y, 10-math.Sqrt(radius*radius-across*across))
	return p.X, p.Y
}

// TestSolidOutline: the sides of a cylinder are seen under the angle asin(r/D) to either side of its axis, so at f r/sqrt(D^2 - r^2) where the camera is level; the rim of its base,
// seen from below, is the ellipse of its circle; nothing of its nose is seen beyond the highest of all its points. Derived.
func TestSolidOutline(t *testing.T) {
	t.Parallel()
	const r, length, nose = 0.06, 0.9, 0.25
	cam := square(160, 1100)
	p := tube(r, length, nose, nil, white)
	out := solid(cam, p, -0.45)
	want := 2 * cam.scale() * r / math.Sqrt(100-r*r)
	var wide float64
	for x := range cam.Width {
		wide += float64(out.planes[0][549*cam.Width+x])
	}
	if math.Abs(wide-want) > 2*tolEdge {
		t.Errorf("a cylinder is %.4f px wide, want %.4f", wide, want)
	}
	cam = lookUp(160)
	p.body.under = p.body.rings[0].colour
	out = solid(cam, p, 2.05)
	o := newOgive(r, length-nose, nose)
	for _, x := range []int{30, 50, 65, 100, 130} {
		// All points of the surface that are seen in this column.
		top, bottom := math.Inf(1), math.Inf(-1)
		for i := range 4001 {
			s := length * float64(i) / 4000
			radius, _ := o.surface(s)
			if s > length-1e-9 {
				radius = 0
			}
			for _, sign := range []float64{-1, 1} {
				if y, ok := inColumn(&cam, 2.05+s, radius, sign, float64(x)); ok {
					top, bottom = min(top, y), max(bottom, y)
				}
			}
		}
		var tall float64
		for y := range cam.Height {
			tall += float64(out.planes[0][y*cam.Width+x])
		}
		// The pixel's own width: the outline bends within it by less than this.
		const bends = 0.05
		if math.Abs(tall-(bottom-top)) > bends {
			t.Errorf("column %d: %.3f px of the solid are seen, of its points %.3f", x, tall, bottom-top)
		}
	}
}

// inColumn returns the row at which a circle's near (-1) or far (1) half crosses a column.
func inColumn(c *Camera, y, radius, sign, x float64) (row float64, ok bool) {
	see := func(across float64) (px, py float64) {
		p := c.Project(across, y, 10+sign*math.Sqrt(max(0, radius*radius-across*across)))
		return p.X, p.Y
	}
	lo, hi := -radius, radius
	if a, _ := see(lo); a > x {
		return 0, false
	}
	if b, _ := see(hi); b < x {
		return 0, false
	}
	for range 50 {
		if m, _ := see((lo + hi) / 2); m < x {
			lo = (lo + hi) / 2
		} else {
			hi = (lo + hi) / 2
		}
	}
	_, row = see(lo)
	return row, true
}

// TestBallOutline: a ball whose centre is seen under an angle a from the optical axis reaches from f tan(a - b) to f tan(a + b), b = asin(r/d) (a tangent to a circle, derived).
func TestBallOutline(t *testing.T) {
	t.Parallel()
	const r = 0.04
	cam := square(128, 1100)
	for _, y := range []float64{-0.4, 0.1, 0.45} {
		out := solid(cam, ball(r, white), y-r)
		a, b := math.Atan(y/10), math.Asin(r/math.Hypot(y, 10))
		want := cam.scale() * (math.Tan(a+b) - math.Tan(a-b))
		var tall [2]float64
		for i, x := range []int{63, 64} { // the axis lies between them
			for row := range cam.Height {
				tall[i] += float64(out.planes[0][row*cam.Width+x])
			}
		}
		const bends = 0.01 // px: the outline within half a pixel of the axis, r - sqrt(r^2 - x^2)
		if got := (tall[0] + tall[1]) / 2; math.Abs(got-want) > bends {
			t.Errorf("a ball at %g m is %.4f px tall, want %.4f", y, got, want)
		}
	}
}

// TestConeTurns: rays that climb t see a cone of slope m end at apex - q sqrt(1/m^2 - t^2) (derived: 1 = t w'(s), R = m (apex - s)).
func TestConeTurns(t *testing.T) {
	t.Parallel()
	const m, apex = 0.5, 0.3
	c := &closing{most: 1, at: func(radius float64) float64 { return apex - radius/m }, slope: func(_, _ float64) float64 { return m }}
	for _, climb := range []float64{-0.4, 0, 0.1, 0.6} {
		at, w := c.turn(0.02, climb)
		if got, want := at+math.Abs(climb)*w, apex-0.02*math.Sqrt(1/(m*m)-climb*climb); math.Abs(got-want) > 1e-12 {
			t.Errorf("climb %g: ends at %.9f, want %.9f", climb, got, want)
		}
	}
}

// TestSolidMoves: a solid that moves is drawn as the mean of what it is at instants, each drawn by itself.
func TestSolidMoves(t *testing.T) {
	t.Parallel()
	cam := lookUp(160)
	bands := []Band{{0, RGB{1, 1, 1}}, {0.1, RGB{0.2, 0.2, 0.2}}, {0.3, RGB{0.7, 0.7, 0.7}}, {0.72, RGB{0.1, 0.1, 0.1}}}
	p := tube(0.06, 0.9, 0.25, &neck{0.015, 0.06, 0.15}, bands)
	const moves, instants = 9e-3, 60
	got := drawn(cam, p, 0, 2.05, at(0, moves/3, moves))
	want := make([]float64, len(got.planes[0]))
	for i := range instants {
		u := (float64(i) + 0.5) / instants // a third of the way in the first half of the time, the rest in the other
		h := moves * 2 / 3 * u
		if u > 0.5 {
			h = moves * (1./3 + 4./3*(u-0.5))
		}
		for k, v := range drawn(cam, p, 0, 2.05, at(h)).planes[0] {
			want[k] += float64(v) / instants
		}
	}
	const tolMean = 0.012 // of 60 instants of a step: half of one of them
	for k := range want {
		if math.Abs(want[k]-float64(got.planes[0][k])) > tolMean {
			t.Fatalf("pixel %d, %d: %.4f, the mean of instants is %.4f", k%cam.Width, k/cam.Width, got.planes[0][k], want[k])
		}
	}
}
