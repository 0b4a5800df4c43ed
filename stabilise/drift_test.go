package stabilise

import (
	"math"
	"math/rand/v2"
	"testing"

	"padside/footage"
	"padside/register"
)

// wave is a picture of many slopes in all directions, levels, with features of 5 to 20 px.
type wave struct{ k, phase [8][2]float64 }

func newWave(r *rand.Rand) *wave {
	w := &wave{}
	for i := range w.k {
		a, l := math.Pi*r.Float64(), 5+15*r.Float64()
		w.k[i] = [2]float64{2 * math.Pi * math.Cos(a) / l, 2 * math.Pi * math.Sin(a) / l}
		w.phase[i][0] = 2 * math.Pi * r.Float64()
	}
	return w
}

func (w *wave) at(x, y float64) float64 {
	v := 128.0
	for i, k := range w.k {
		v += 15 * math.Sin(k[0]*x+k[1]*y+w.phase[i][0])
	}
	return min(max(v, 0), 255)
}

// heldPicture is footage as a codec leaves it: each block of 8 by 8 is coded anew, with noise,
// where the camera has moved farther than a threshold of its own since it was last, and in the
// first frame; else it is a copy.
type heldPicture struct {
	wave *wave
	r    *rand.Rand
	held [][2]float64 // the camera's place when each block was coded
	most []float64    // px
	l    *footage.Luma
}

const heldW, heldH = 240, 160

func newHeldPicture(r *rand.Rand) *heldPicture {
	p := &heldPicture{wave: newWave(r), r: r, l: &footage.Luma{Width: heldW, Height: heldH, Depth: 8, Pix8: make([]uint8, heldW*heldH)}}
	for range heldW / 8 * heldH / 8 {
		p.held, p.most = append(p.held, [2]float64{1e9, 0}), append(p.most, 0.05+0.1*r.Float64())
	}
	return p
}

// move codes the next frame.
func (p *heldPicture) move(x, y float64) *footage.Luma {
	for b := range p.held {
		h := &p.held[b]
		if math.Hypot(x-h[0], y-h[1]) < p.most[b] {
			continue
		}
		*h = [2]float64{x, y}
		for k := range 64 {
			px, py := b%(heldW/8)*8+k%8, b/(heldW/8)*8+k/8
			p.l.Pix8[py*heldW+px] = uint8(math.Round(min(max(p.wave.at(float64(px)-x, float64(py)-y)+p.r.NormFloat64(), 0), 255)))
		}
	}
	return p.l
}

// TestDriftReadsWhatIsCodedAnew: the camera wanders by a third of a pixel while blocks hold still
// for up to 0.15 px. What is coded anew tells where it is, to a few hundredths, and says how well.
func TestDriftReadsWhatIsCodedAnew(t *testing.T) {
	t.Parallel()
	const frames, rate = 90, 240.0
	var errs, pulls, moved float64
	n := 0
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 11))
		p := newHeldPicture(r)
		d := &Drift{keys: []int{0}}
		var way [][2]float64
		var at [2]float64
		for i := range frames {
			way = append(way, at)
			d.Step(i, float64(i)/rate, p.move(at[0], at[1]))
			for k := range at {
				at[k] += math.Sqrt(0.03/rate) * r.NormFloat64()
			}
		}
		got := d.Shifts(&Background{})
		if got == nil {
			t.Fatalf("seed %d: no movement was read", seed)
		}
		for i := 10; i < frames; i++ {
			s := got[i]
			for k, e := range [2]float64{s.DX - way[i][0], s.DY - way[i][1]} {
				u := [2]float64{s.UX, s.UY}[k]
				errs, pulls, moved, n = errs+e*e, pulls+e*e/(u*u), moved+way[i][k]*way[i][k], n+1
			}
		}
	}
	rms := func(sum float64) float64 { return math.Sqrt(sum / float64(n)) }
	// What is left is how far the camera goes while nothing is coded anew.
	if e, p := rms(errs), rms(pulls); e > 0.03 || p < 0.2 || p > 1.3 {
		t.Errorf("error %.4f px, %.2f times what is stated; the camera had moved by %.3f px", e, p, rms(moved))
	}
}

// TestDriftOfNothing: a camera at rest stays at rest, a vehicle's part of the picture is left out,
// and footage that is not read in one go begins anew.
func TestDriftOfNothing(t *testing.T) {
	t.Parallel()
	p := newHeldPicture(rand.New(rand.NewPCG(1, 12)))
	d := &Drift{keys: []int{0}}
	for i := range 20 {
		d.Step(i, float64(i)/240, p.move(0, 0))
	}
	for i, s := range d.Shifts(&Background{}) {
		if math.Hypot(s.DX, s.DY) > 1e-9 || s.UX > 0.01 {
			t.Fatalf("frame %d of a still camera: moved by (%g, %g), u %g", i, s.DX, s.DY, s.UX)
		}
	}
	d.Step(40, 40./240, p.move(0.2, 0))
	if len(d.frames) != 1 || d.KeyBefore(44) != 40 {
		t.Errorf("after a gap %d frames are kept, and frame %d counts as coded by itself", len(d.frames), d.KeyBefore(44))
	}
	d.Step(41, 41./240, p.move(0.45, 0))
	for _, s := range d.Shifts(&Background{avoid: []register.Area{{X: 0, Y: 0, W: heldW, H: heldH}}}) {
		if s.DX != 0 || s.DY != 0 {
			t.Errorf("moved by (%g, %g) where all blocks are to be left out", s.DX, s.DY)
		}
	}
	for i := 42; i < 60; i++ {
		d.Step(i, float64(i)/240, p.move(0.2+0.25*float64(i-40), 0))
	}
	if got := d.Shifts(&Background{}); got != nil {
		t.Errorf("a movement of pixels was read: %v", got[59])
	}
	var none *Drift
	none.Step(0, 0, p.l)
	if none.Shifts(&Background{}) != nil {
		t.Error("footage coded frame by frame has a drift")
	}
}
