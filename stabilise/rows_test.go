package stabilise

import (
	"math"
	"math/rand/v2"
	"testing"

	"padside/timebase"
)

// hand is a hand's movement: pan, tilt (px), size and roll, each a sum of sines.
type hand struct{ f, p [4][12]float64 }

func newHand(r *rand.Rand) *hand {
	h := &hand{}
	for k := range h.f {
		for i := range h.f[k] {
			h.f[k][i], h.p[k][i] = 0.3*math.Pow(12/0.3, r.Float64()), 2*math.Pi*r.Float64()
		}
	}
	return h
}

// at is the motion at time t whose velocity is of so many px/s, root mean square along either axis.
func (h *hand) at(t, speed float64) motion {
	var v [4]float64
	for k := range v {
		for i, f := range h.f[k] {
			v[k] += math.Sin(2*math.Pi*f*t+h.p[k][i]) * speed / (2 * math.Pi * f) / math.Sqrt(6)
		}
	}
	return motion{pan: v[0], tilt: v[1], size: v[2] / 700, roll: v[3] / 500, ok: true}
}

// filmed is what eight patches of a picture of w by h px show of a hand, each at its own row's
// time, with a noise of u px and each with a lag of its own of so many s (what a codec does to
// them).
type filmed struct {
	rate, kx, ky, speed, u, lag float64
	frames                      int
}

// handFirst is the frame in which the patches were taken up.
const handW, handH, handFirst = 480, 640, 20

func (c filmed) background(seed uint64) *Background {
	r := rand.New(rand.NewPCG(seed, 3))
	h := newHand(r)
	b := &Background{moves: map[int]motion{}, seen: map[int][]reading{}, first: handFirst, width: handW, height: handH}
	const n = 8
	var own [n]*anchor
	var place [n][2]float64
	var late [n]float64
	for a := range own {
		own[a], late[a] = &anchor{}, c.lag*r.NormFloat64()
		place[a] = [2]float64{r.Float64() * handW, r.Float64() * handH}
	}
	seen := func(a int, t float64) (dx, dy float64) {
		x, y := place[a][0], place[a][1]
		m := h.at(t+c.kx*(x-(handW-1)/2.)+c.ky*(y-(handH-1)/2.)+late[a], c.speed)
		m.mx, m.my = (handW-1)/2., (handH-1)/2.
		return m.at(x, y)
	}
	for f := range c.frames {
		var rs []reading
		for a := range own {
			x0, y0 := seen(a, handFirst/c.rate)
			dx, dy := seen(a, float64(f)/c.rate)
			rs = append(rs, reading{place[a][0], place[a][1], dx - x0 + c.u*r.NormFloat64(), dy - y0 + c.u*r.NormFloat64(), c.u, own[a]})
		}
		b.seen[f], b.moves[f] = rs, b.combine(rs)
	}
	return b
}

// TestRowsOfAHand: of a hand whose background is seen place by place at its own row's time, the
// delay for each px is found within what is stated, row by row and column by column, at 30 and 240
// frames a second, with a slow hand, with patches that lag, and of a global shutter.
func TestRowsOfAHand(t *testing.T) {
	t.Parallel()
	const runs, mostPull, leastHeld = 40, 1.2, 0.9 // rowsScale is for what is not simulated
	for _, c := range []struct {
		name  string
		f     filmed
		told  float64 // s, most that the readout's standard uncertainty may be, root mean square
		tells int     // runs at least that tell
	}{
		{"rows at 30", filmed{rate: 30, ky: 20e-3 / handH, speed: 12, u: 0.02, frames: 60}, 2e-3, runs},
		{"columns at 60", filmed{rate: 60, kx: -12e-3 / handW, speed: 12, u: 0.02, frames: 90}, 2e-3, runs},
		{"rows at 240", filmed{rate: 240, ky: 3.5e-3 / handH, speed: 12, u: 0.02, frames: 150}, 1e-3, runs},
		{"a slower hand", filmed{rate: 240, ky: 3.5e-3 / handH, speed: 6, u: 0.03, frames: 150}, 2e-3, runs / 2},
		{"patches that lag", filmed{rate: 60, ky: 12e-3 / handH, speed: 12, u: 0.02, lag: 2e-3, frames: 90}, 6e-3, runs},
		{"a global shutter", filmed{rate: 60, speed: 12, u: 0.02, frames: 90}, 2e-3, runs},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			var chi, u, held, n float64
			for seed := range uint64(runs) {
				g, ok := c.f.background(seed).Rows(func(f int) float64 { return float64(f) / c.f.rate })
				if !ok {
					continue
				}
				off, v := (g.Y-c.f.ky)*handH, g.Cov[1][1]*handH*handH
				if c.f.kx != 0 {
					off, v = (g.X-c.f.kx)*handW, g.Cov[0][0]*handW*handW
				}
				n, chi, u = n+1, chi+off*off/v, u+v
				if math.Abs(off) < 1.96*math.Sqrt(v) {
					held++
				}
			}
			pull, u := math.Sqrt(chi/n), math.Sqrt(u/n)
			t.Logf("told in %g of %d; %.2f ms stated, pull %.2f, %.0f %% held", n, runs, 1e3*u, pull, 100*held/n)
			if n < float64(c.tells) || u > c.told || !(pull < mostPull) || held < leastHeld*n {
				t.Errorf("told in %g of %d runs; %.2f ms stated, want at most %.2f; pull %.2f; %.0f %% held",
					n, runs, 1e3*u, 1e3*c.told, pull, 100*held/n)
			}
		})
	}
}

// TestShearOfRows holds the formulas of the affine map against shifts worked out place by place: of
// a camera that moves evenly and reads both along x and y.
func TestShearOfRows(t *testing.T) {
	t.Parallel()
	const vx, vy, kx, ky = 13.0, -7.0, 20e-6, -31e-6
	seen := func(x, y float64) (dx, dy float64) {
		t := kx*x + ky*y // s, when it is exposed
		return vx * t, vy * t
	}
	const h = 100.0
	var a [2][2]float64
	ax, ay := seen(h, 0)
	bx, by := seen(0, h)
	a[0][0], a[1][0], a[0][1], a[1][1] = ax/h, ay/h, bx/h, by/h
	if d, s := a[0][0]-a[1][1], a[0][1]+a[1][0]; math.Abs(d-(vx*kx-vy*ky)) > 1e-12 || math.Abs(s-(vx*ky+vy*kx)) > 1e-12 {
		t.Errorf("A11 - A22 = %g, A12 + A21 = %g, want %g and %g", d, s, vx*kx-vy*ky, vx*ky+vy*kx)
	}
}

// TestShiftOfARow: once the rows are known, the shift of a place is that of its own time, to the
// patches' noise; before, it was off by the hand's way meanwhile.
func TestShiftOfARow(t *testing.T) {
	t.Parallel()
	c := filmed{rate: 30, ky: 24e-3 / handH, speed: 14, u: 0.01, frames: 60}
	seconds := func(f int) float64 { return float64(f) / c.rate }
	var before, after float64
	n := 0.0
	for seed := range uint64(12) {
		b := c.background(seed)
		h := newHand(rand.New(rand.NewPCG(seed, 3)))
		true_ := func(f int, x, y float64) (dx, dy float64) {
			m := h.at(seconds(f)+c.kx*(x-(handW-1)/2.)+c.ky*(y-(handH-1)/2.), c.speed)
			m.mx, m.my = (handW-1)/2., (handH-1)/2.
			return m.at(x, y)
		}
		off := func() (sum float64) {
			for f := 5; f < c.frames-5; f++ {
				for _, y := range []float64{40, 600} {
					s := b.At(f, 240, y)
					dx, dy := true_(f, 240, y)
					first := h.at(handFirst/c.rate, c.speed)
					first.mx, first.my = (handW-1)/2., (handH-1)/2.
					x0, y0 := first.at(240, y)
					sum += math.Pow(s.DX-dx+x0, 2) + math.Pow(s.DY-dy+y0, 2)
				}
			}
			return sum
		}
		before += off()
		b.ByRows(timebase.Gradient{Y: c.ky}, seconds)
		after += off()
		n += 4 * float64(c.frames-10)
	}
	before, after = math.Sqrt(before/n), math.Sqrt(after/n)
	t.Logf("off by %.3f px before and %.3f px after", before, after)
	if after > 0.06 || before < 2*after {
		t.Errorf("off by %.3f px before and %.3f px after the rows are known", before, after)
	}
}
