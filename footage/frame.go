package footage

import (
	"context"
	"image"
)

// Frame decodes frame i by itself. The result is kept in a cache of Options.CacheBytes and
// shared: do not change it. Stepping through frames is quick in both directions, see BenchmarkBrowse.
func (f *Footage) Frame(ctx context.Context, i int) (*Luma, error) {
	n := f.Len()
	if i < 0 || i >= n {
		return nil, f.noFrames(i, i)
	}
	return f.lumas.frame(ctx, i, n)
}

// Picture decodes frame i in colour, upright. It is kept and shared as Frame's result is.
func (f *Footage) Picture(ctx context.Context, i int) (image.Image, error) {
	n := f.Len()
	if i < 0 || i >= n {
		return nil, f.noFrames(i, i)
	}
	return f.pictures.frame(ctx, i, n)
}

// Pictures hands frames from..to-1 to visit in colour, upright, in order, in one pass; the visitor owns each. The next is decoded
// while the visitor works. It stops at the visitor's first error and returns it as it is; damaged frames are left out.
func (f *Footage) Pictures(ctx context.Context, from, to int, visit func(i int, m image.Image) error) error {
	if from < 0 || to > f.Len() || from >= to {
		return f.noFrames(from, to-1)
	}
	r := newReel(ctx, from, to, f.src.pictures)
	defer r.stop()
	for {
		it, more, err := r.pull(ctx)
		if err != nil {
			return err
		}
		if !more {
			return r.err
		}
		if err := visit(it.index, it.value); err != nil {
			return err
		}
	}
}

// browse makes the browsers of opened footage.
func (f *Footage) browse(alive context.Context, cacheBytes int64) {
	f.cache = newCache(cacheBytes)
	lumas := func(ctx context.Context, from, to int, give func(int, *Luma) error) error {
		return f.src.read(ctx, from, to, func(fr Frame) error { return give(fr.Index, fr.Luma) })
	}
	f.lumas = newBrowser(alive, f.cache, false, lumas, (*Luma).bytes)
	f.pictures = newBrowser(alive, f.cache, true, f.src.pictures, pictureBytes)
	if f.kind == Clip {
		f.lumas.hop, f.pictures.hop = clipHop, clipHop
	}
}

// bytes is the size of the samples in memory.
func (l *Luma) bytes() int64 { return int64(len(l.Pix8) + 2*len(l.Pix16)) }

func pictureBytes(m image.Image) int64 {
	switch p := m.(type) {
	case *image.RGBA:
		return int64(len(p.Pix))
	case *image.NRGBA:
		return int64(len(p.Pix))
	case *image.YCbCr:
		return int64(len(p.Y) + len(p.Cb) + len(p.Cr))
	case *image.Gray:
		return int64(len(p.Pix))
	case *image.Gray16:
		return int64(len(p.Pix))
	}
	const deepest = 8 // bytes per pixel of any picture of package image
	return deepest * int64(m.Bounds().Dx()) * int64(m.Bounds().Dy())
}
