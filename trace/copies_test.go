package trace

import "testing"

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
