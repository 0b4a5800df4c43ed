package scene

import (
	"context"
	"image"
	"math"
	"runtime"

	"padside/footage"
	"padside/guard"
)

// ClipOptions says how a clip is written.
type ClipOptions struct {
	FFmpeg   string  // the program; "": ffmpeg, from PATH
	Codec    string  // ffmpeg's encoder; "": libx264
	CRF      int     // quality, smaller is better; 0: 16. Negative: lossless
	BFrames  int     // frames predicted from both sides between two others
	Playback float64 // Hz the clip says it has, as high-speed cameras write it; 0: the stamps are kept
	OnFrame  func()  // called after each frame; may be nil

	Turned    Turned     // pictures are stored lying or on their head, and the file says so; of MP4 and MOV
	Recording *Recording // which frames are stored, with which stamps; nil: each once, with its own
}

// WriteClip draws every frame, or those of a recording, into a clip through ffmpeg: 8 bits, 4:2:0, full range (ITU-R
// BT.601 for colour), so that the luma written is what Frame returns. Uneven stamps are
// kept to 1/90000 s. Width and height must be even.
func WriteClip(ctx context.Context, s *Scene, path string, o ClipOptions) error {
	r := o.Recording
	if r == nil {
		r = Record(s)
	}
	w, h := o.Turned.size(s.Camera.Width, s.Camera.Height)
	e := footage.Encoding{FFmpeg: o.FFmpeg, Width: w, Height: h, Format: footage.Planar420,
		Codec: o.Codec, CRF: o.CRF, BFrames: o.BFrames, Rate: o.Playback, Interlaced: r.Woven}
	if o.Playback == 0 {
		var even bool
		if e.Rate, even = r.evenRate(); !even {
			for _, t := range r.Stamps {
				e.Ticks = append(e.Ticks, int64(math.Round((t-r.Stamps[0])*footage.StampClock)))
			}
		}
	}
	err := footage.Encode(ctx, path, e, func(ctx context.Context, put func([]byte) error) error {
		store := func(picture []byte) error { return put(o.Turned.store(picture, s.Camera.Width, s.Camera.Height)) }
		return s.pour(ctx, r, store, o.OnFrame)
	})
	if err != nil {
		return err
	}
	return o.Turned.say(path, w, h)
}

// evenRate returns the stamps' rate, and whether they are evenly spaced to a microsecond.
func (r *Recording) evenRate() (hz float64, even bool) {
	n := len(r.Stamps) - 1
	if n < 1 {
		return 25, true
	}
	step := (r.Stamps[n] - r.Stamps[0]) / float64(n)
	even = true
	for i, t := range r.Stamps {
		even = even && math.Abs(t-r.Stamps[0]-float64(i)*step) < 1e-6
	}
	hz = 1 / step
	if near := math.Round(hz); math.Abs(hz-near) < 1e-9*hz {
		hz = near
	}
	return hz, even
}

// pour draws the frames of a recording, several at a time, and writes them in order.
func (s *Scene) pour(ctx context.Context, r *Recording, put func([]byte) error, onFrame func()) error {
	g, ctx := guard.WithContext(ctx)
	workers := runtime.GOMAXPROCS(0) // drawing is arithmetic; one more frame waits to be written
	queue := make(chan chan []byte, workers)
	g.Go(func() error {
		defer close(queue)
		for _, i := range r.Frames {
			frame := make(chan []byte, 1)
			select {
			case queue <- frame: // blocks while workers frames are drawn or wait
			case <-ctx.Done():
				return ctx.Err()
			}
			g.Go(func() error {
				picture := planar420(s.Color(i))
				if r.Woven {
					weave(picture, planar420(s.Color(i+1)), s.Camera.Width, s.Camera.Height)
				}
				frame <- picture
				return nil
			})
		}
		return nil
	})
	g.Go(func() error {
		for frame := range queue {
			var picture []byte
			select {
			case picture = <-frame:
			case <-ctx.Done(): // drawing has ended, perhaps without this one
				return ctx.Err()
			}
			if err := put(picture); err != nil {
				return err
			}
			if onFrame != nil {
				onFrame()
			}
		}
		return ctx.Err()
	})
	return g.Wait()
}

// planar420 returns a picture as full-range 4:2:0 planes.
func planar420(m image.Image) []byte {
	m = shallow(m)
	if g, ok := m.(*image.Gray); ok {
		out := make([]byte, len(g.Pix)*3/2)
		n := copy(out, g.Pix)
		for i := n; i < len(out); i++ {
			out[i] = 128
		}
		return out
	}
	c := m.(*image.RGBA)
	w, h := c.Rect.Dx(), c.Rect.Dy()
	out := make([]byte, w*h*3/2)
	cb, cr := out[w*h:w*h*5/4], out[w*h*5/4:]
	for y := 0; y < h; y += 2 {
		for x := 0; x < w; x += 2 {
			var sum [3]int
			for _, at := range [4]int{y*w + x, y*w + x + 1, (y+1)*w + x, (y+1)*w + x + 1} {
				r, g, b := int(c.Pix[4*at]), int(c.Pix[4*at+1]), int(c.Pix[4*at+2])
				out[at] = uint8((299*r + 587*g + 114*b + 500) / 1000)
				sum[0], sum[1], sum[2] = sum[0]+r, sum[1]+g, sum[2]+b
			}
			r, g, b := float64(sum[0])/4, float64(sum[1])/4, float64(sum[2])/4
			luma := 0.299*r + 0.587*g + 0.114*b
			at := (y/2)*(w/2) + x/2
			cb[at] = uint8(max(0, min(255, 128.5+0.564*(b-luma))))
			cr[at] = uint8(max(0, min(255, 128.5+0.713*(r-luma))))
		}
	}
	return out
}
