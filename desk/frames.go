package desk

import (
	"bytes"
	"container/list"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"math"
	"sync"
	"time"

	"golang.org/x/image/draw"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/picture"
)

// FrameRequest says which part of a frame is wanted, and how large. Crop is x, y, width, height in px of the upright
// picture; it may reach beyond it, where it is left transparent.
type FrameRequest struct {
	Crop  *[4]int
	Width int // of the result, px; 0: as filmed. A crop is never scaled
}

// mostCrop is the largest side of a crop, px: a loupe needs far less.
const mostCrop = 2048

// shots keeps footage open that pages look into.
type shots struct {
	mu    sync.Mutex
	order *list.List // of *shot, the one last used first
}

type shot struct {
	path   string
	rotate int
	f      *footage.Footage
	lay    footage.Identity // as the folder had it when it was opened
	looked time.Time        // when that was last seen to hold
}

// lookAgain is how long open footage is trusted to be what lies in its place: a page that steps through it asks for many frames a second.
const lookAgain = time.Second

// stands says whether the footage that is open is the one that lies in its place.
func (s *shot) stands() bool {
	if time.Since(s.looked) < lookAgain {
		return true
	}
	now, err := footage.Identify(s.path)
	s.looked = time.Now()
	return err == nil && s.lay.Unread(now)
}

// openShots is how many pieces of footage stay open, each with its cache of frames.
const openShots = 4

func newShots() *shots { return &shots{order: list.New()} }

// open returns the footage of a launch. It stays open until others push it out.
func (s *shots) open(ctx context.Context, l *logbook.Launch) (*footage.Footage, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for e := s.order.Front(); e != nil; e = e.Next() {
		if k := e.Value.(*shot); k.path == l.Footage.Path && k.rotate == l.Footage.Rotate {
			if !k.stands() {
				k.f.Close()
				s.order.Remove(e)
				break
			}
			s.order.MoveToFront(e)
			return k.f, nil
		}
	}
	lay, err := footage.Identify(l.Footage.Path)
	if err != nil {
		return nil, err
	}
	f, err := footage.Open(context.WithoutCancel(ctx), l.Footage.Path, footage.Options{Rotate: l.Footage.Rotate})
	if err != nil {
		return nil, err
	}
	s.order.PushFront(&shot{l.Footage.Path, l.Footage.Rotate, f, lay, time.Now()})
	for s.order.Len() > openShots {
		last := s.order.Back()
		last.Value.(*shot).f.Close()
		s.order.Remove(last)
	}
	return f, nil
}

func (s *shots) close() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for e := s.order.Front(); e != nil; e = e.Next() {
		e.Value.(*shot).f.Close()
	}
	s.order.Init()
}

// frame draws the part of a frame that is wanted: JPEG, or PNG for a crop.
func frame(ctx context.Context, f *footage.Footage, i int, r FrameRequest) (data []byte, mime string, err error) {
	if i < 0 || i >= f.Len() {
		return nil, "", faultUnknown("frame", fmt.Sprint(i))
	}
	if r.Crop != nil && (r.Crop[2] < 1 || r.Crop[3] < 1 || r.Crop[2] > mostCrop || r.Crop[3] > mostCrop) {
		return nil, "", fault.Requestf(fmt.Sprintf("ask for 1 to %d px a side", mostCrop), "a crop of %d x %d px", r.Crop[2], r.Crop[3])
	}
	img, err := f.Picture(ctx, i)
	if err != nil {
		return nil, "", err
	}
	var b bytes.Buffer
	if c := r.Crop; c != nil {
		out := image.NewNRGBA(image.Rect(0, 0, c[2], c[3]))
		draw.Draw(out, out.Rect, img, img.Bounds().Min.Add(image.Pt(c[0], c[1])), draw.Src)
		err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, out)
		return b.Bytes(), "image/png", err
	}
	if w := img.Bounds().Dx(); r.Width > 0 && r.Width < w {
		h := img.Bounds().Dy()
		img = picture.Shrink(img, max(r.Width, int(math.Round(float64(h*r.Width)/float64(w)))))
	}
	err = jpeg.Encode(&b, img, &jpeg.Options{Quality: 85})
	return b.Bytes(), "image/jpeg", err
}

// Instants of the multiple-exposure picture, and its size.
const (
	exposures       = 7
	exposureLongest = 1100 // px
)

// exposure draws the vehicles at equal time steps in one frame. It is nil where there is nothing to show.
func (m *Measurement) exposure(ctx context.Context, f *footage.Footage) ([]byte, error) {
	first, last := m.flightFrames()
	if last <= first {
		return nil, nil
	}
	rest, err := f.Picture(ctx, max(m.Launch.Footage.From, first-1))
	if err != nil {
		return nil, err
	}
	e := picture.NewExposure(rest)
	for k := 1; k <= exposures; k++ {
		img, err := f.Picture(ctx, m.frameAt(first, last, float64(k)/exposures))
		if err != nil {
			return nil, err
		}
		if err := e.Add(img, 0, 0); err != nil {
			return nil, err
		}
	}
	return e.JPEG(exposureLongest)
}

// exposureOr draws it from footage that is open or can be opened; where that fails it is a warning of the sheet.
func (m *Measurement) exposureOr(ctx context.Context, from *shots) []byte {
	shot, err := from.open(ctx, m.Launch)
	var b []byte
	if err == nil {
		b, err = m.exposure(ctx, shot)
	}
	if err != nil && ctx.Err() == nil {
		m.warn([]fault.Warning{undrawn("the multiple-exposure picture", err)})
	}
	return b
}

// flightFrames are the frames between which any vehicle moves, by the trace: from the last one at rest to the last seen.
func (m *Measurement) flightFrames() (first, last int) {
	first = math.MaxInt
	for i := range m.Lanes {
		l := &m.Lanes[i]
		for k, h := range l.Heights {
			// Six standard uncertainties off rest is motion, not noise.
			if math.Abs(h.H) > 6*h.U && k > 0 {
				first = min(first, l.Heights[k-1].Frame)
				break
			}
		}
		if n := len(l.Heights); n > 0 {
			last = max(last, l.Heights[n-1].Frame)
		}
	}
	return first, last
}

// frameAt is the frame nearest to a fraction of the time between two frames.
func (m *Measurement) frameAt(first, last int, part float64) int {
	t0, t1 := m.base.Time(first, 0), m.base.Time(last, 0)
	want, best := t0+part*(t1-t0), first
	for i := first; i <= last; i++ {
		if math.Abs(m.base.Time(i, 0)-want) < math.Abs(m.base.Time(best, 0)-want) {
			best = i
		}
	}
	return best
}
