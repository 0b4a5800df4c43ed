package trace

import (
	"context"
	"math"
	"testing"

	"padside/footage"
)

func TestEqualShareFindsCopies(t *testing.T) {
	t.Parallel()
	const w, h = 40, 60
	picture := func(seed uint32) []uint8 {
		out := make([]uint8, w*h)
		for i := range out {
			seed = seed*1664525 + 1013904223
			out[i] = uint8(100 + seed>>30) // four levels: a quarter agree by chance
		}
		return out
	}
	at := func(x, y int, pix []uint8) *crop { return &crop{area: area{x, y, w, h}, pix8: pix, grey: 1} }
	one, other := picture(1), picture(2)
	moved := make([]uint8, w*h)
	for y := range h - 1 {
		copy(moved[y*w:(y+1)*w], one[(y+1)*w:(y+2)*w])
	}
	for _, c := range []struct {
		name   string
		a, b   *crop
		lo, hi float64
	}{
		{"the same picture", at(5, 7, one), at(5, 7, one), 1, 1},
		{"the same picture, cut out a row further", at(5, 7, one), at(5, 8, moved), 0.99, 1},
		{"another picture", at(5, 7, one), at(5, 7, other), 0.2, 0.3},
		{"the same samples at another place", at(5, 7, one), at(5, 8, one), 0.2, 0.3},
		{"far apart", at(5, 7, one), at(200, 7, one), 0, 0},
		{"none", at(5, 7, one), &crop{}, 0, 0},
	} {
		if got := equalShare(c.a, c.b, 20, 30); got < c.lo || got > c.hi {
			t.Errorf("%s: share %.3f, want %g to %g", c.name, got, c.lo, c.hi)
		}
	}
}

// The longer the rest was one picture, the less is known of where the camera was meanwhile, up to what would have been coded anew.
func TestHeldU(t *testing.T) {
	rest := func(long float64) float64 {
		r := &refiner{rest: []int{0, 1}, sights: []sighting{{t: 3}, {t: 3 + long}}}
		return r.heldU()
	}
	short, medium, long := rest(0.02), rest(0.2), rest(3)
	if !(heldLeast <= short && short < 0.02 && 0.045 < medium && medium < 0.06 && math.Abs(long-math.Hypot(heldLeast, heldMost)) < 1e-6) {
		t.Errorf("heldU after 0.02, 0.2 and 3 s: %.4f, %.4f, %.4f", short, medium, long)
	}
}

func TestCodedBetween(t *testing.T) {
	for _, c := range []struct {
		name string
		src  Source
		want bool
	}{
		{"not known", clip{n: 40}, false},
		{"one key frame", clip{n: 40, keys: []int{0}}, true},
		{"each a key frame", clip{n: 3, keys: []int{0, 1, 2}}, false},
	} {
		if got := codedBetween(c.src); got != c.want {
			t.Errorf("%s: codedBetween = %v, want %v", c.name, got, c.want)
		}
	}
}

// clip is footage of which only the key frames are known.
type clip struct {
	n    int
	keys []int
}

func (c clip) Size() (int, int) { return 0, 0 }
func (c clip) Len() int         { return c.n }
func (c clip) KeyFrames() []int { return c.keys }
func (c clip) Read(context.Context, int, int, func(footage.Frame) error) error {
	return nil
}
