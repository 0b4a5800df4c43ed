package footage

import (
	"context"
	"fmt"
	"slices"

	"padside/fault"
)

// Glimpse looks quickly through frames from..to-1: it hands them to visit in order as Read does, but of each only one
// pixel of every step by step square, near its middle, and it leaves out frames of a clip on which no
// other depends. That is enough to tell whether something changes. The decoder does the leaving out, so that a glimpse of a clip
// may take less time than decoding it. Stills are decoded whole, every one. A frame that is missing or damaged is passed over: Read
// is the judge of that.
func (f *Footage) Glimpse(ctx context.Context, from, to, step int, visit func(Frame) error) error {
	if c, ok := f.src.(*clip); ok {
		return f.skipping(ctx, c, "noref", from, to, step, visit)
	}
	if err := f.checkStep(step); err != nil {
		return err
	}
	return f.Read(ctx, from, to, func(fr Frame) error {
		thin := Frame{Index: fr.Index, Luma: fr.Luma.thinned(step)}
		fr.Release()
		return visit(thin)
	})
}

// KeyFrames are the frames of a clip that are coded by themselves, in order: decoding may begin with each. It is nil for stills and where the
// container does not tell. The slice is shared: do not change it.
func (f *Footage) KeyFrames() []int {
	if c, ok := f.src.(*clip); ok {
		return c.keys
	}
	return nil
}

// Between are the frames of a clip that are predicted from frames on both sides of them (B frames), in order: where little changes they are mixed of these
// two. It is nil for stills and where the container does not tell. The slice is shared: do not change it.
func (f *Footage) Between() []int {
	if c, ok := f.src.(*clip); ok {
		return c.between
	}
	return nil
}

// Skim is a Glimpse at a clip's key frames alone, which takes a small part of the time of decoding it where these are few. Stills are passed over.
func (f *Footage) Skim(ctx context.Context, from, to, step int, visit func(Frame) error) error {
	if c, ok := f.src.(*clip); ok {
		return f.skipping(ctx, c, "nokey", from, to, step, visit)
	}
	return f.checkStep(step)
}

func (f *Footage) checkStep(step int) error {
	if step < 1 || step > min(f.width, f.height) {
		return fault.Failedf(nil, "", "glimpse at every %d-th pixel of %dx%d", step, f.width, f.height)
	}
	return nil
}

// skipping shows thinned frames of a clip, those left out that ffmpeg's -skip_frame says.
func (f *Footage) skipping(ctx context.Context, c *clip, skip string, from, to, step int, visit func(Frame) error) error {
	if err := f.checkStep(step); err != nil {
		return err
	}
	return f.stream(ctx, from, to, func(ctx context.Context, from, to int, give func(Frame) error) error {
		return c.thinned(ctx, skip, from, to, step, give)
	}, visit)
}

// thinned decodes the frames a glimpse shows.
func (c *clip) thinned(ctx context.Context, skip string, from, to, step int, give func(Frame) error) error {
	w, h := c.width/step, c.height/step
	p := c.lumaPass()
	p.skip = skip
	p.filters = slices.Concat(c.luma.filters, c.lay.mirrorFilter(), []string{c.thinning(step)}, c.lay.turnFilter())
	d, _, err := c.begin(ctx, p, from, 0, true)
	if err != nil {
		return err
	}
	defer d.stop()
	raw := make([]byte, w*h*(1+(c.depth-1)/8))
	for i := 0; ; {
		pts, err := d.next(raw)
		if err != nil || ctx.Err() != nil {
			return ctx.Err() // the end, or damage
		}
		for i < to && c.pts[i] < pts {
			i++
		}
		if i >= to {
			return nil
		}
		if i < from || c.pts[i] != pts {
			continue
		}
		l := newLuma(w, h, c.depth)
		l.take(raw)
		if err := give(Frame{Index: i, Luma: l}); err != nil {
			return err
		}
	}
}

// thinning is the filter that thins out the picture as stored (mirrored, if at all), before it is turned: the turn then costs little. What is left over
// right of and below the last whole square of the turned picture is cut off first.
func (c *clip) thinning(step int) string {
	w, h := c.width/step, c.height/step
	x, y := 0, 0
	spareX, spareY := c.width%step, c.height%step // of the turned picture
	switch c.lay.degrees() {
	case 90:
		w, h, y = h, w, spareX
	case 180:
		x, y = spareX, spareY
	case 270:
		w, h, x = h, w, spareY
	}
	return fmt.Sprintf("crop=%d:%d:%d:%d:exact=1,scale=%d:%d:flags=neighbor:in_range=full:out_range=full", w*step, h*step, x, y, w, h)
}

// thinned copies the pixel nearest to the middle of each step by step square.
func (l *Luma) thinned(step int) *Luma {
	out := &Luma{Width: l.Width / step, Height: l.Height / step, Depth: l.Depth}
	n := out.Width * out.Height
	if l.Pix8 != nil {
		out.Pix8 = make([]uint8, 0, n)
	} else {
		out.Pix16 = make([]uint16, 0, n)
	}
	for y := range out.Height {
		row := (y*step + step/2) * l.Width
		for x := range out.Width {
			at := row + x*step + step/2
			if l.Pix8 != nil {
				out.Pix8 = append(out.Pix8, l.Pix8[at])
			} else {
				out.Pix16 = append(out.Pix16, l.Pix16[at])
			}
		}
	}
	return out
}
