package register

import (
	"math"
	"math/rand/v2"
	"testing"
)

// texture is a picture known everywhere: a sum of Gaussian blobs, evaluated and not interpolated.
type texture struct{ x, y, s, a []float64 }

func newTexture(seed uint64, n int, size float64) *texture {
	r := rand.New(rand.NewPCG(seed, 1))
	t := &texture{}
	for range n {
		t.x = append(t.x, (r.Float64()-0.5)*size)
		t.y = append(t.y, (r.Float64()-0.5)*size)
		t.s = append(t.s, 1.2+1.5*r.Float64())
		t.a = append(t.a, 60*(r.Float64()-0.5))
	}
	return t
}

func (t *texture) at(x, y float64) float64 {
	v := 120.0
	for i := range t.x {
		dx, dy := x-t.x[i], y-t.y[i]
		v += t.a[i] * math.Exp(-(dx*dx+dy*dy)/(2*t.s[i]*t.s[i]))
	}
	return v
}

// draw samples the texture, moved by (dx, dy), on w by h pixels around its centre.
func (t *texture) draw(w, h int, dx, dy float64) []float32 {
	out := make([]float32, w*h)
	for y := range h {
		for x := range w {
			out[y*w+x] = float32(t.at(float64(x)-float64(w-1)/2-dx, float64(y)-float64(h-1)/2-dy))
		}
	}
	return out
}

func TestBias(t *testing.T) {
	t.Parallel()
	const most = 0.005 // px, at every k/20 px: the promise of docs/methods.md
	const side = 32
	b := NewBasis()
	tex := newTexture(3, 120, 50)
	p := &Patch{W: side, H: side, Pix: tex.draw(side+2*Margin, side+2*Margin, 0, 0), Weight: Flat(side * side)}
	m, ok := p.Matcher(b, 0, 0)
	if !ok {
		t.Fatal("no texture")
	}
	s := NewScratch(b)
	const n = side + 30
	for k := range 21 {
		d := float64(k) / 20
		s.Set(tex.draw(n, n, d, -0.7*d), n, n)
		got := m.Register(s, Warp{X: (n-1)/2.0 + 0.4, Y: (n - 1) / 2.0, A: 1})
		ex, ey := got.X-(n-1)/2.0-d, got.Y-(n-1)/2.0+0.7*d
		t.Logf("%.2f %v %.5f %.5f q %.5f", d, got.OK, ex, ey, got.Quality)
		if !got.OK || math.Abs(ex) > most || math.Abs(ey) > most {
			t.Errorf("shift by %.2f: error (%.5f, %.5f) px, want at most %g", d, ex, ey, most)
		}
	}
}

// TestNoiseReachesBound: the scatter is held against the Cramer-Rao bound of Robinson & Milanfar,
// IEEE Trans. Image Process. 13:1185 (2004). For a Gaussian blob of height A, known, in white noise
// sigma: sd = sigma/sqrt(pi A^2/2).
func TestNoiseReachesBound(t *testing.T) {
	t.Parallel()
	const most = 1.2 // times the bound
	const least = 0.9
	const side, n = 32, 62
	b := NewBasis()
	blob := &texture{x: []float64{0}, y: []float64{0}, s: []float64{2}, a: []float64{100}}
	p := &Patch{W: side, H: side, Pix: blob.draw(side+2*Margin, side+2*Margin, 0, 0), Weight: Flat(side * side)}
	m, _ := p.Matcher(b, 0, 0)
	s := NewScratch(b)
	for _, sigma := range []float64{1, 2, 5} {
		r := rand.New(rand.NewPCG(uint64(sigma), 7))
		var sum, u float64
		const draws = 600
		for i := range draws {
			d := float64(i%20) / 20
			pix := blob.draw(n, n, d, 0)
			for k := range pix {
				pix[k] += float32(sigma * r.NormFloat64())
			}
			s.Set(pix, n, n)
			got := m.Register(s, Warp{X: (n-1)/2.0 + 0.5, Y: (n - 1) / 2.0, A: 1})
			e := got.X - (n-1)/2.0 - d
			sum += e * e
			u += got.Cov[0][0]
		}
		bound := sigma / math.Sqrt(math.Pi*100*100/2)
		sd := math.Sqrt(sum / draws)
		t.Logf("sigma %g: sd %.5f, bound %.5f (ratio %.3f), stated %.5f", sigma, sd, bound, sd/bound, math.Sqrt(u/draws))
		if sd > most*bound || sd < least*bound {
			t.Errorf("noise %g: sd %.5f px, bound %.5f: ratio %.3f", sigma, sd, bound, sd/bound)
		}
	}
}
