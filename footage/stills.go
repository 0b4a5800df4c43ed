package footage

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"image"
	"image/color"
	_ "image/jpeg" // registers the decoder
	_ "image/png"  // registers the decoder
	"os"
	"path/filepath"
	"strings"
	"sync"

	_ "golang.org/x/image/tiff" // registers the decoder

	"padside/fault"
)

const stillHint = "remove the file from the folder, or save it again as JPEG, PNG or TIFF"

// stills is a run of still pictures of one size.
type stills struct {
	names  []string // absolute, in order
	turns  []int    // degrees clockwise for each
	info   *Info
	frames sync.Pool
}

func isStill(name string) bool {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".jpg", ".jpeg", ".png", ".tif", ".tiff":
		return true
	}
	return false
}

// naturalOrder compares names so that numbers in them count as numbers: 9 before 10.
func naturalOrder(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		m, n := digits(x), digits(y)
		if m > 0 && n > 0 {
			p, q := strings.TrimLeft(x[:m], "0"), strings.TrimLeft(y[:n], "0")
			if c := cmp.Or(cmp.Compare(len(p), len(q)), cmp.Compare(p, q)); c != 0 {
				return c
			}
			x, y = x[m:], y[n:]
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(a, b))
}

// digits counts the decimal digits that s begins with.
func digits(s string) int {
	return len(s) - len(strings.TrimLeft(s, "0123456789"))
}

// openStills reads the head of every still.
func openStills(ctx context.Context, names []string, o Options) (*stills, *Info, error) {
	info := &Info{Kind: Stills, Frames: len(names), Complete: true}
	s := &stills{names: names, info: info, turns: make([]int, len(names))}
	tags := make([]exif, len(names))
	for i, n := range names {
		if ctx.Err() != nil {
			return nil, nil, ctx.Err()
		}
		h, err := readHead(n)
		if err != nil {
			return nil, nil, err
		}
		tags[i] = h.tags
		s.turns[i] = (h.tags.turn + o.turn()) % 360
		if s.turns[i]%180 != 0 {
			h.w, h.h = h.h, h.w
		}
		if i == 0 {
			info.Width, info.Height, info.Depth, info.Codec, info.Container = h.w, h.h, h.depth, h.format, h.format
			info.Rotation, info.Exposure = s.turns[0], h.tags.exposure
		} else if h.w != info.Width || h.h != info.Height || h.depth != info.Depth {
			return nil, nil, fault.Requestf("keep only the pictures of one burst, all of one size, depth and orientation, in the folder",
				"%s is %d x %d at %d bits, the stills before it are %d x %d at %d bits", n, h.w, h.h, h.depth, info.Width, info.Height, info.Depth)
		}
		info.Names = append(info.Names, filepath.Base(n))
	}
	info.timeStills(tags)
	return s, info, nil
}

// head is what the first bytes of a still say; size as stored.
type head struct {
	w, h, depth int
	format      string
	tags        exif
}

func readHead(name string) (head, error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return head{}, fault.Requestf("check that the file may be read", "cannot read %s", name)
	}
	c, format, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || c.Width <= 0 || c.Height <= 0 {
		return head{}, fault.Requestf(stillHint, "cannot decode %s", name)
	}
	h := head{w: c.Width, h: c.Height, depth: 8, format: format, tags: readEXIF(data)}
	switch c.ColorModel {
	case color.Gray16Model, color.RGBA64Model, color.NRGBA64Model:
		h.depth = 16
	}
	return h, nil
}

// load decodes still i as stored.
func (s *stills) load(i int) (image.Image, error) {
	data, err := os.ReadFile(s.names[i])
	if err != nil {
		return nil, fault.Requestf("check that the file is still there", "cannot read %s", s.names[i])
	}
	m, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, fault.Requestf(stillHint, "cannot decode %s: %v", s.names[i], err)
	}
	return m, nil
}

// read implements source.
func (s *stills) read(ctx context.Context, from, to int, give func(Frame) error) error {
	for i := from; i < to; i++ {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		m, err := s.load(i)
		if err != nil {
			return err
		}
		l := newLuma(&s.frames, s.info.Width, s.info.Height, s.info.Depth)
		b := m.Bounds()
		at := turned(b.Dx(), b.Dy(), s.turns[i])
		if w, h := at.size(); w != l.Width || h != l.Height {
			return fault.Requestf("open the stills again", "%s has changed its size since it was opened", s.names[i])
		}
		fill(l, m, at)
		if err := give(Frame{Index: i, Luma: l, pool: &s.frames}); err != nil {
			return err
		}
	}
	return nil
}

// turning maps pixels as stored (w wide, h high) to pixels after a clockwise turn.
type turning struct{ w, h, degrees int }

func turned(w, h, degrees int) turning { return turning{w, h, degrees} }

func (t turning) size() (w, h int) {
	if t.degrees%180 != 0 {
		return t.h, t.w
	}
	return t.w, t.h
}

func (t turning) to(x, y int) (int, int) {
	switch t.degrees {
	case 90:
		return t.h - 1 - y, x
	case 180:
		return t.w - 1 - x, t.h - 1 - y
	case 270:
		return y, t.w - 1 - x
	}
	return x, y
}

// fill writes a picture's brightness into l: the Y plane of a JPEG as coded, grey as it is,
// colours by the weights of Rec. ITU-R BT.601, as package image/color computes them.
func fill(l *Luma, m image.Image, t turning) {
	b := m.Bounds()
	for y := range t.h {
		for x := range t.w {
			u, v := t.to(x, y)
			k := v*l.Width + u
			if l.Depth > 8 {
				l.Pix16[k] = color.Gray16Model.Convert(m.At(b.Min.X+x, b.Min.Y+y)).(color.Gray16).Y
				continue
			}
			switch p := m.(type) {
			case *image.YCbCr:
				l.Pix8[k] = p.Y[p.YOffset(b.Min.X+x, b.Min.Y+y)]
			case *image.Gray:
				l.Pix8[k] = p.GrayAt(b.Min.X+x, b.Min.Y+y).Y
			default:
				l.Pix8[k] = color.GrayModel.Convert(m.At(b.Min.X+x, b.Min.Y+y)).(color.Gray).Y
			}
		}
	}
}

// picture implements source.
func (s *stills) picture(_ context.Context, i int) (image.Image, error) {
	m, err := s.load(i)
	if err != nil || s.turns[i] == 0 {
		return m, err
	}
	b := m.Bounds()
	t := turned(b.Dx(), b.Dy(), s.turns[i])
	w, h := t.size()
	out := image.NewNRGBA64(image.Rect(0, 0, w, h))
	for y := range t.h {
		for x := range t.w {
			u, v := t.to(x, y)
			out.Set(u, v, m.At(b.Min.X+x, b.Min.Y+y))
		}
	}
	return out, nil
}

// files implements source.
func (s *stills) files() []string { return s.names }

// timeStills sets the stamps from the stills' tags, where every one has a time.
func (i *Info) timeStills(tags []exif) {
	timed := 0
	for _, t := range tags {
		if t.time != nil {
			timed++
		}
	}
	if timed < len(tags) {
		if timed > 0 {
			i.warn("times-missing", fmt.Sprintf("%d of %d stills carry no time: none is used; give the rate of the burst or the times", len(tags)-timed, len(tags)))
		}
		return
	}
	i.stampStills(tags)
}
