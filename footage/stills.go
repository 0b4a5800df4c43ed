package footage

import (
	"bytes"
	"context"
	"image"
	"image/color"
	_ "image/jpeg" // registers the decoder
	_ "image/png"  // registers the decoder
	"io"
	"os"
	"path/filepath"
	"sync"

	_ "golang.org/x/image/tiff" // registers the decoder

	"padside/disk"
	"padside/fault"
)

const stillHint = "remove the file from the folder, or save it again as JPEG, PNG or TIFF"

// stills is a run of still pictures of one size. It does not change once it is open.
type stills struct {
	names                []string // absolute, in order
	lays                 []orientation
	width, height, depth int // upright
	pool                 *pool
	amend                func(func(i *Info)) // notes what only reading shows
}

// openStills reads the head of every still.
func openStills(ctx context.Context, names []string, o Options) (*stills, *Info, error) {
	info := &Info{Kind: Stills, Frames: len(names), Complete: true}
	s := &stills{names: names, lays: make([]orientation, len(names))}
	tags := make([]exif, len(names))
	err := inOrder(ctx, 0, len(names), func(k int) (stillHead, error) { return readHead(names[k]) }, func(k int, h stillHead) error {
		tags[k] = h.tags
		s.lays[k] = h.tags.lay.turned(o.turn())
		w, height := s.lays[k].size(h.w, h.h)
		if k == 0 {
			s.width, s.height, s.depth = w, height, h.depth
			info.Width, info.Height, info.Depth, info.Codec, info.Container = w, height, h.depth, h.format, h.format
			info.Rotation, info.Mirrored = s.lays[0].degrees(), s.lays[0].mirror
		} else if w != s.width || height != s.height || h.depth != s.depth {
			return fault.Requestf("keep only the pictures of one burst, all of one size, depth and orientation, in the folder",
				"%s is %d x %d px at %d bits, %s before it is %d x %d px at %d bits", names[k], w, height, h.depth,
				filepath.Base(names[0]), s.width, s.height, s.depth)
		}
		info.Names = append(info.Names, filepath.Base(names[k]))
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	s.pool = newPool(s.width, s.height, s.depth)
	info.timeStills(tags)
	return s, info, nil
}

// stillHead is what the first bytes of a still say; size as stored.
type stillHead struct {
	w, h, depth int
	format      string
	tags        exif
}

// headBytes is where the tags of a JPEG or PNG are looked for. A TIFF may have them anywhere.
const headBytes = 1 << 20

func readHead(name string) (stillHead, error) {
	f, err := openStill(name)
	if err != nil {
		return stillHead{}, err
	}
	defer f.Close()
	first, err := io.ReadAll(io.LimitReader(f, headBytes))
	if err == nil && (bytes.HasPrefix(first, []byte("II*\x00")) || bytes.HasPrefix(first, []byte("MM\x00*"))) {
		var rest []byte
		rest, err = io.ReadAll(f)
		first = append(first, rest...)
	}
	if err != nil {
		return stillHead{}, fault.Requestf("check that the file may be read", "cannot read %s: %v", name, err)
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return stillHead{}, fault.Requestf("check that the file may be read", "cannot read %s: %v", name, err)
	}
	c, format, err := image.DecodeConfig(f)
	if err != nil {
		return stillHead{}, fault.Requestf(stillHint, "cannot decode %s: %v", name, err)
	}
	if err := checkSize(name, c.Width, c.Height); err != nil {
		return stillHead{}, err
	}
	return stillHead{w: c.Width, h: c.Height, depth: depthOf(c.ColorModel), format: format, tags: readEXIF(first)}, nil
}

func openStill(name string) (*os.File, error) {
	f, err := disk.Open(name)
	if err != nil {
		return nil, fault.Requestf("check that the file is there and may be read", "cannot open %s", name)
	}
	if st, err := f.Stat(); err == nil && st.Size() > maxStill {
		f.Close()
		return nil, fault.Requestf(stillHint, "%s is larger than the %d MB that are read", name, maxStill>>20)
	}
	return f, nil
}

func depthOf(m color.Model) int {
	switch m {
	case color.Gray16Model, color.RGBA64Model, color.NRGBA64Model:
		return 16
	}
	return 8
}

// load decodes still i as stored. Its size is looked at first: it may have been replaced since it was opened.
func (s *stills) load(i int) (image.Image, error) {
	f, err := openStill(s.names[i])
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(f)
	if err != nil {
		return nil, fault.Requestf("check that the file may be read", "cannot read %s: %v", s.names[i], err)
	}
	c, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, fault.Requestf(stillHint, "cannot decode %s: %v", s.names[i], err)
	}
	if w, h := s.lays[i].size(c.Width, c.Height); w != s.width || h != s.height || depthOf(c.ColorModel) != s.depth {
		return nil, fault.Requestf("open the stills again", "%s has changed since it was opened", s.names[i])
	}
	m, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, fault.Requestf(stillHint, "cannot decode %s: %v", s.names[i], err)
	}
	if b := m.Bounds(); b.Dx() != c.Width || b.Dy() != c.Height || depthOf(m.ColorModel()) != s.depth {
		return nil, fault.Requestf(stillHint, "%s is not the picture its head announces", s.names[i])
	}
	return m, nil
}

// read implements source. Stills are decoded several at a time. Those that cannot be decoded are left out and noted; it is an
// error only if none can.
func (s *stills) read(ctx context.Context, from, to int, give func(Frame) error) error {
	var bad badStills
	err := inOrder(ctx, from, to, func(k int) (*Luma, error) {
		m, err := s.load(k)
		if err != nil {
			bad.add(k, err)
			return nil, nil
		}
		l := s.pool.get()
		fill(l, m, s.lays[k])
		return l, nil
	}, func(k int, l *Luma) error {
		if l == nil {
			return nil
		}
		return give(Frame{Index: k, Luma: l, pool: s.pool})
	})
	if err != nil {
		return err
	}
	return s.judge(&bad, to-from)
}

// badStills collects those that could not be decoded.
type badStills struct {
	mu    sync.Mutex
	count int
	first int
	err   error // of the first
}

func (b *badStills) add(k int, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.count++; b.count == 1 || k < b.first {
		b.first, b.err = k, err
	}
}

// judge notes bad stills among those read.
func (s *stills) judge(b *badStills, read int) error {
	if b.count == 0 {
		return nil
	}
	if b.count == read {
		return b.err
	}
	s.amend(func(i *Info) { i.damaged(len(s.names)-b.count, len(s.names), []string{b.err.Error()}) })
	return nil
}

// pictures implements source.
func (s *stills) pictures(ctx context.Context, from, to int, give func(int, image.Image) error) error {
	var bad badStills
	err := inOrder(ctx, from, to, func(k int) (image.Image, error) {
		m, err := s.load(k)
		if err != nil {
			bad.add(k, err)
			return nil, nil
		}
		return upright(m, s.lays[k]), nil
	}, func(k int, m image.Image) error {
		if m == nil {
			return nil
		}
		return give(k, m)
	})
	if err != nil {
		return err
	}
	return s.judge(&bad, to-from)
}

// verify decodes every still.
func (s *stills) verify(ctx context.Context) error {
	return s.read(ctx, 0, len(s.names), func(f Frame) error {
		f.Release()
		return nil
	})
}

// files implements source.
func (s *stills) files() []string { return s.names }
