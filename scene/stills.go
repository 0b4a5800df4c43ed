package scene

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"padside/guard"
)

// Format is a file format of stills.
type Format int

const (
	// PNG8 is PNG with 8 bits per sample.
	PNG8 Format = iota
	// PNG16 is PNG with 16 bits per sample, for sensors deeper than 8 bits.
	PNG16
	// JPEG is JPEG at quality 95 with EXIF times.
	JPEG
)

// StillsOptions says how stills are written.
type StillsOptions struct {
	Format  Format
	Prefix  string        // of the names, before the frame's number; "": "frame-"
	Clock   time.Time     // of time 0 of the stamps, for EXIF; zero: 2026-05-16 10:30:00 UTC
	Quality int           // of JPEG; 0: 95
	Tick    time.Duration // of the camera's clock, to which times are cut; 0: 1 ms
	OnFrame func()        // called after each frame, by several goroutines; may be nil
}

func (o StillsOptions) withDefaults() StillsOptions {
	if o.Prefix == "" {
		o.Prefix = "frame-"
	}
	if o.Clock.IsZero() {
		o.Clock = time.Date(2026, 5, 16, 10, 30, 0, 0, time.UTC)
	}
	if o.Quality == 0 {
		o.Quality = 95
	}
	return o
}

// WriteStills draws every frame into a file of its own in dir, which must exist, and returns
// their names in order.
func WriteStills(ctx context.Context, s *Scene, dir string, o StillsOptions) ([]string, error) {
	o = o.withDefaults()
	ext := ".png"
	if o.Format == JPEG {
		ext = ".jpg"
	}
	names := make([]string, s.Frames())
	g, ctx := guard.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0)) // drawing and packing are arithmetic: a frame per processor
	for i := range names {
		names[i] = fmt.Sprintf("%s%04d%s", o.Prefix, i, ext)
		g.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			data, err := s.packStill(i, o)
			if err != nil {
				return fmt.Errorf("pack still %d: %w", i, err)
			}
			if err := os.WriteFile(filepath.Join(dir, names[i]), data, 0o644); err != nil {
				return fmt.Errorf("write still: %w", err)
			}
			if o.OnFrame != nil {
				o.OnFrame()
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	return names, nil
}

// packStill draws and packs one still.
func (s *Scene) packStill(i int, o StillsOptions) ([]byte, error) {
	m := s.Color(i)
	var b bytes.Buffer
	switch o.Format {
	case JPEG:
		if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: o.Quality}); err != nil {
			return nil, err
		}
		at := o.Clock.Add(time.Duration(s.Stamps[i] * float64(time.Second)))
		if o.Tick > 0 {
			at = at.Truncate(o.Tick)
		}
		return withEXIF(b.Bytes(), at, s.Camera.Exposure), nil
	case PNG8:
		m = shallow(m)
	}
	e := png.Encoder{CompressionLevel: png.BestSpeed}
	err := e.Encode(&b, m)
	return b.Bytes(), err
}

// shallow returns the picture with 8 bits per sample.
func shallow(m image.Image) image.Image {
	switch deep := m.(type) {
	case *image.Gray16:
		out := image.NewGray(deep.Rect)
		for i := range out.Pix {
			out.Pix[i] = deep.Pix[2*i]
		}
		return out
	case *image.RGBA64:
		out := image.NewRGBA(deep.Rect)
		for i := range out.Pix {
			out.Pix[i] = deep.Pix[2*i]
		}
		return out
	}
	return m
}
