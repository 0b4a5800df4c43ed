package trace

import (
	"context"
	"math"
	"testing"

	"padside/footage"
	"padside/layer"
	"padside/register"
	"padside/stabilise"
)

// counted counts how often the footage is read.
type counted struct {
	*bandedLaunch
	reads int
}

func (c *counted) Read(ctx context.Context, from, to int, visit func(footage.Frame) error) error {
	c.reads++
	return c.bandedLaunch.Read(ctx, from, to, visit)
}

// followed follows the launch and lays out the band of its one lane.
func (c *counted) followed(t *testing.T) (*follower, *judgedBand) {
	t.Helper()
	f, l, r, p := followBanded(t, c)
	return f, f.bandFor(l, r, p)
}

// In what is cut out of the strip the vehicle is found where it is in what is laid flat along its
// line, to a cell, and the footage is read once.
func TestStrip(t *testing.T) {
	t.Parallel()
	c := &counted{bandedLaunch: newBandedLaunch(3)}
	f, b := c.followed(t)
	_, plain := c.followed(t)
	l := f.lanes[0]
	if l.strip == nil {
		t.Fatal("no strip was laid aside")
	}
	c.reads = 0
	if err := f.readBand(context.Background(), l, b); err != nil || c.reads > 0 {
		t.Fatalf("the footage is read %d times more (%v)", c.reads, err)
	}
	l.strip = nil
	if err := f.readBand(context.Background(), l, plain); err != nil || c.reads != 1 {
		t.Fatalf("without a strip the footage is read %d times, want once (%v)", c.reads, err)
	}
	got, want := layer.Locate(b.layout, b.known), layer.Locate(plain.layout, plain.known)
	if len(got) != len(want) || len(got) < 10 {
		t.Fatalf("found in %d frames from the strip, in %d laid flat again", len(got), len(want))
	}
	for i := range got {
		if g, w := got[i], want[i]; w.P > 0.9 && (g.P < 0.9 || math.Hypot(g.S-w.S, g.C-w.C) > plain.step) {
			t.Errorf("frame %d: found at %.1f, %.1f (%.2f) from the strip, at %.1f, %.1f (%.2f) laid flat again", w.Frame, g.S, g.C, g.P, w.S, w.C, w.P)
		}
	}
}

// A short flight that the ring still holds is not read again either.
func TestStripOfRing(t *testing.T) {
	t.Parallel()
	c := &counted{bandedLaunch: newBandedLaunch(3)}
	f, b := c.followed(t)
	f.lanes[0].strip = nil
	f.ring.empty()
	for i := range bandedFrames {
		f.ring.frames = append(f.ring.frames, footage.Frame{Index: i, Luma: c.frame(i)})
	}
	c.reads = 0
	if err := f.readBand(context.Background(), f.lanes[0], b); err != nil || c.reads > 0 || len(b.layout.Frames) != b.to-b.from {
		t.Errorf("%d of %d frames laid flat, the footage read %d times (%v)", len(b.layout.Frames), b.to-b.from, c.reads, err)
	}
}

// A strip that grows beyond its most frames keeps every second one, and again; one that misses a
// frame is given up.
func TestStripThins(t *testing.T) {
	t.Parallel()
	const first, n = 7, 3*judgedMost + 20
	f := &follower{o: Options{Workers: 1}, basis: register.NewBasis(), steady: &stabilise.Background{}}
	l := &lane{strip: &strip{lattice: lattice{x: 8, y: 8, uy: -1, step: 2, rows: 1, cols: 1, per: 1}, first: first, next: first, each: 1}}
	frame := func(i int) *footage.Frame {
		pic := &footage.Luma{Width: 16, Height: 16, Depth: 8, Pix8: make([]uint8, 256)}
		for k := range pic.Pix8 {
			pic.Pix8[k] = uint8(i % 251)
		}
		return &footage.Frame{Index: i, Luma: pic}
	}
	for i := first; i < first+n; i++ {
		f.layOn(l, frame(i))
	}
	s := l.strip
	if s.each != 4 || len(s.frames) != (n+3)/4 {
		t.Errorf("of %d frames %d are kept, every %d.", n, len(s.frames), s.each)
	}
	for k, pix := range s.frames {
		if want := (first + k*s.each) % 251; int(pix[0]) != want*parts {
			t.Errorf("frame %d of the strip shows level %g, want %d", k, float64(pix[0])/parts, want)
		}
	}
	if f.layOn(l, frame(first+n+1)); l.strip != nil {
		t.Error("a strip stands that misses a frame")
	}
}
