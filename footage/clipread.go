package footage

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"math/big"
	"slices"

	"padside/fault"
)

// lumaPass is how brightness is decoded.
func (c *clip) lumaPass() pass {
	format := "gray"
	if c.depth > 8 {
		format = fmt.Sprintf("gray%dle", c.depth)
	}
	return pass{filters: slices.Concat(c.luma.filters, c.lay.mirrorFilter(), c.lay.turnFilter()), format: format}
}

// colourPass is how pictures are decoded: the conversion gives the same colours on every machine, unless it is to be quick.
func (c *clip) colourPass() pass {
	same := "scale=flags=bitexact+accurate_rnd+full_chroma_int"
	if c.quick {
		same = "scale=flags=fast_bilinear"
	}
	return pass{filters: slices.Concat([]string{same, "format=rgba"}, c.lay.mirrorFilter(), c.lay.turnFilter()), format: "rgba"}
}

// begin starts decoding so that frame from comes next, and returns how many frames to skip. to 0 means without end.
func (c *clip) begin(ctx context.Context, p pass, from, to int, seek bool) (*decoding, int, error) {
	skip := from
	p.limit = to
	if seek && from > 0 && !c.counted {
		// Half a frame early, and counted from the container's start: elsewhere -ss misses by a frame or more.
		at := new(big.Rat).SetInt64(c.pts[from])
		at.Add(at, new(big.Rat).SetInt64(c.pts[from-1])).Mul(at, c.base).Quo(at, big.NewRat(2, 1)).Sub(at, c.start)
		if at.Sign() > 0 { // a negative one would seek elsewhere
			p.seek, skip = at.FloatString(6), 0
			if to > 0 {
				p.limit = to - from
			}
		}
	}
	d, err := decode(ctx, c.tool, c.path, p)
	return d, skip, err
}

var errStray = errors.New("seeking did not lead to the frame wanted")

// place is the index of the frame with this stamp, next or later; -1 where there is none.
func (c *clip) place(pts int64, next int) int {
	if next >= len(c.pts) {
		return -1
	}
	if c.counted || c.pts[next] == pts {
		return next
	}
	if i, ok := slices.BinarySearch(c.pts[next:], pts); ok {
		return next + i
	}
	return -1
}

// raw decodes frames from..to-1. For each that can be decoded, room returns where its bytes are to go, and take is told when
// they are there. Frames that are missing are left out and noted; it is an error only if there is none at all.
func (c *clip) raw(ctx context.Context, p pass, from, to int, room func() []byte, take func(i int) error) error {
	r := run{clip: c, from: from, to: to, room: room, take: take}
	err := r.once(ctx, p, true)
	if errors.Is(err, errStray) { // nothing was taken yet
		err = r.once(ctx, p, false)
	}
	return err
}

// run is one pass over a part of a clip.
type run struct {
	*clip
	from, to int
	room     func() []byte
	take     func(i int) error
	got      int
	last     int // the index of the last frame taken
}

func (r *run) once(ctx context.Context, p pass, seek bool) error {
	d, skip, err := r.begin(ctx, p, r.from, r.to, seek)
	if err != nil {
		return err
	}
	defer d.stop()
	sought := skip == 0 && r.from > 0
	err = r.pump(ctx, d, r.from-skip, sought)
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	if r.got == 0 && sought {
		return errStray
	}
	whole := r.from == 0 && r.to == len(r.pts)
	var faults []string
	if whole || errors.Is(err, io.EOF) {
		faults = d.finish()
	}
	if r.got == 0 {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		why := "it is not in the file any more"
		if len(faults) > 0 {
			why = lastWords(faults[len(faults)-1], r.path)
		}
		return fault.Requestf(decodeHint, "frame %d of %s cannot be decoded: %s", r.from, r.path, why)
	}
	if missing := r.to - r.from - r.got; missing > 0 || whole && len(faults) > 0 {
		r.note(missing, whole, faults)
	}
	return ctx.Err()
}

// pump takes frames from the pipe one by one; io.EOF says that they ended too soon.
func (r *run) pump(ctx context.Context, d *decoding, next int, sought bool) error {
	for next < r.to {
		buf := r.room()
		pts, err := d.next(buf)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return io.EOF
		}
		if errors.Is(err, errResized) {
			return fault.Requestf("cut the clip where its size changes", "%s: the picture changes its size at frame %d", r.path, next)
		}
		if err != nil {
			return decodeFailed(err, next, r.path)
		}
		i := r.place(pts, next)
		if sought && r.got == 0 && i != r.from {
			return errStray
		}
		if i < 0 { // a frame the index does not know
			continue
		}
		if i >= r.to {
			return nil
		}
		next = i + 1
		if i < r.from {
			continue
		}
		r.got, r.last = r.got+1, i
		if err := r.take(i); err != nil {
			return err
		}
	}
	return nil
}

func decodeFailed(err error, frame int, path string) error {
	var told *fault.Error
	if errors.As(err, &told) {
		return err
	}
	return fault.Failedf(err, decodeHint, "decode frame %d of %s", frame, path)
}

// note records damage that only decoding shows. Where a whole pass ended early, the footage is as long as what came.
func (r *run) note(missing int, whole bool, faults []string) {
	of, got, last := len(r.pts), len(r.pts)-missing, r.last
	r.amend(func(i *Info) {
		i.damaged(got, of, faults)
		if whole && last+1 < i.Frames {
			i.Frames = last + 1
			if i.Stamps != nil {
				i.Stamps = i.Stamps[:i.Frames:i.Frames]
			}
		}
	})
}

// read implements source.
func (c *clip) read(ctx context.Context, from, to int, give func(Frame) error) error {
	var l *Luma
	var wide []byte // of samples deeper than 8 bits; others go from the decoder's pipe to where they stay
	room := func() []byte {
		if l == nil {
			l = c.pool.get()
		}
		if l.Pix8 != nil {
			return l.Pix8
		}
		if wide == nil {
			wide = make([]byte, 2*len(l.Pix16))
		}
		return wide
	}
	return c.raw(ctx, c.lumaPass(), from, to, room, func(i int) error {
		if l.Pix16 != nil {
			l.take(wide)
		}
		f := Frame{Index: i, Luma: l, pool: c.pool}
		l = nil
		return give(f)
	})
}

// pictures implements source.
func (c *clip) pictures(ctx context.Context, from, to int, give func(int, image.Image) error) error {
	var m *image.RGBA
	room := func() []byte {
		if m == nil {
			m = image.NewRGBA(image.Rect(0, 0, c.width, c.height))
		}
		return m.Pix
	}
	return c.raw(ctx, c.colourPass(), from, to, room, func(i int) error {
		done := m
		m = nil
		return give(i, done)
	})
}

// verify decodes the whole clip without handing frames over, and notes what is damaged.
func (c *clip) verify(ctx context.Context) error {
	if c.verified {
		return nil
	}
	s, err := scan(ctx, c.tool, c.path, 0)
	if err != nil {
		return err
	}
	got, last := c.count(s.pts)
	if missing := len(c.pts) - got; missing > 0 || len(s.faults) > 0 {
		r := run{clip: c, last: last}
		r.note(missing, true, s.faults)
	}
	return nil
}
