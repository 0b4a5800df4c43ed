package desk

import (
	"context"
	"image"
	"math"
	"path/filepath"
	"sort"
	"strings"

	"padside/footage"
	"padside/logbook"
	"padside/picture"
)

// trailLasts is how much of the way behind the followed point is drawn: s of playback, and places
// at least.
const trailLasts, trailPlaces = 0.8, 10

// moment is what is marked at a run of frames.
func (k *marking) moment(r run) picture.MarkedMoment {
	var m picture.MarkedMoment
	t := k.one.times[r.frame]
	if k.timed && !k.o.hides("clock") {
		m.Clock = k.clockText(t)
	}
	m.Readings = k.readingsAt(r.frame)
	if !k.o.hides("splits") {
		for _, s := range k.splits {
			if s.at > t {
				break
			}
			m.Splits++
			if fresh := max(freshLasts/k.cadence.slow, k.one.step()); t-s.at < fresh {
				m.Fresh++
			}
		}
	}
	for _, g := range k.gates {
		line := make([]picture.Spot, len(g.line))
		for i, s := range g.line {
			var known bool
			if line[i], known = k.at(r.frame, s); !known {
				line = nil
				break
			}
		}
		m.Gates, m.Passed = append(m.Gates, line), append(m.Passed, g.at <= t)
	}
	if !k.o.hides("trail") {
		k.follow(r.frame, &m)
	}
	return m
}

// follow puts in where the followed point is in a frame, and the way to it as that frame shows it.
func (k *marking) follow(frame int, m *picture.MarkedMoment) {
	p := k.one.path.Points
	n := frame + k.one.first
	i := sort.Search(len(p), func(i int) bool { return p[i].Frame >= n })
	if i == len(p) || p[i].Frame != n {
		return
	}
	here := picture.Spot{X: p[i].Col, Y: p[i].Row}
	m.Here = &here
	// What the camera's movement is off by at the point itself: its place in this frame is known
	// better.
	s, known := k.at(frame, picture.Spot{X: p[i].X, Y: p[i].Y})
	if !known {
		return
	}
	dx, dy := here.X-s.X, here.Y-s.Y
	from := max(0, i-max(trailPlaces, int(math.Round(trailLasts/k.cadence.slow/max(k.one.step(), 1e-9)))))
	for _, q := range p[from:i] {
		s, _ := k.at(frame, picture.Spot{X: q.X, Y: q.Y})
		m.Trail = append(m.Trail, picture.Spot{X: s.X + dx, Y: s.Y + dy})
	}
	m.Trail = append(m.Trail, here)
}

// clipCRF is the quality of a clip by the ending of its file: paper stays clean, footage as it is seen.
var clipCRF = map[string]int{".mp4": 20, ".webm": 31}

// ClipEncoding is how a marked clip, or a race, of a size is encoded into a file.
func ClipEncoding(path string, width, height int) footage.Encoding {
	end := strings.ToLower(filepath.Ext(path))
	e := footage.Encoding{Width: width, Height: height, Format: footage.RGBA, Rate: raceRate, CRF: clipCRF[end], BFrames: 2, Streamable: end == ".mp4"}
	if end == ".webm" {
		e.Codec = "libvpx-vp9"
	}
	return e
}

// write makes the files.
func (k *marking) write(ctx context.Context) (*MarkedClip, error) {
	out := k.made()
	w, h := k.paper.Size()
	film := k.film
	if path := k.entry.out; path != "" {
		inner, e := film, ClipEncoding(path, w, h)
		e.FFmpeg = k.o.FFmpeg
		film = func(ctx context.Context, s sinks) error {
			return encodeAtomic(ctx, path, e, func(ctx context.Context, put func([]byte) error) error {
				s.clip = put
				return inner(ctx, s)
			})
		}
	}
	if path := k.entry.overlay; path != "" {
		inner, e := film, footage.Encoding{FFmpeg: k.o.FFmpeg, Width: w, Height: h, Rate: raceRate, Format: footage.Straight}
		film = func(ctx context.Context, s sinks) error {
			if isFolder(path) {
				return writePictures(path, func(put func(*image.NRGBA, int) error) error {
					s.overlay = put
					return inner(ctx, s)
				})
			}
			return encodeAtomic(ctx, path, e, func(ctx context.Context, put func([]byte) error) error {
				s.overlay = func(m *image.NRGBA, count int) error { return again(put, m.Pix, count) }
				return inner(ctx, s)
			})
		}
	}
	if k.entry.out == "" && k.entry.overlay == "" {
		return out, nil
	}
	return out, film(ctx, sinks{})
}

// encodeAtomic encodes into a file that appears whole or not at all.
func encodeAtomic(ctx context.Context, path string, e footage.Encoding, draw func(context.Context, func([]byte) error) error) error {
	return logbook.WriteFileAtomic(path, func(temp string) error { return footage.Encode(ctx, temp, e, draw) })
}

// sinks take the frames; nil: not wanted.
type sinks struct {
	clip    func(frame []byte) error
	overlay func(m *image.NRGBA, count int) error
}

// again hands one frame over several times.
func again(put func([]byte) error, frame []byte, count int) error {
	for range count {
		if err := put(frame); err != nil {
			return err
		}
	}
	return nil
}

// made says what will be written.
func (k *marking) made() *MarkedClip {
	w, h := k.paper.Size()
	n, card := 0, 0
	out := &MarkedClip{Title: k.title, Launch: k.m.Launch.Path, Lane: k.lane.Path.Lane,
		FootageAt: [2]int{k.fit.At.X - k.fit.Part.Min.X, k.fit.At.Y - k.fit.Part.Min.Y}, FirstMotion: &k.one.zero}
	if !k.timed {
		first := k.one.zero
		first.Value = nil
		out.FirstMotion = &first
	}
	for _, r := range k.runs {
		out.Shown = append(out.Shown, Shown{Frame: n, Footage: r.frame + k.one.first, T: k.one.times[r.frame]})
		n += r.count
	}
	if !k.o.hides("card") {
		out.Card, card = n, k.cardFrames()
	}
	file := func(path string) *RaceFile {
		if path == "" {
			return nil
		}
		return &RaceFile{Path: path, Width: w, Height: h, Frames: n + card, RateHz: raceRate, Slow: k.cadence.slow, From: k.one.times[k.runs[0].frame]}
	}
	out.Clip, out.Overlay = file(k.entry.out), file(k.entry.overlay)
	return out
}

func (k *marking) cardFrames() int { return int(cardLasts * raceRate) }

// film reads the footage in one pass, and hands every frame of the clip to the sinks; no more than
// a few are in memory.
func (k *marking) film(ctx context.Context, s sinks) error {
	l := k.m.Launch
	shot, err := footage.Open(ctx, l.Footage.Path, footage.Options{Rotate: l.Footage.Rotate, FFmpeg: k.o.FFmpeg, Quick: true})
	if err != nil {
		return err
	}
	defer shot.Close()
	f := filmed{marking: k, sinks: s}
	for _, r := range k.runs {
		f.total += r.count
	}
	if !k.o.hides("card") {
		f.total += k.cardFrames()
	}
	from, to := k.runs[0].frame+k.one.first, k.runs[len(k.runs)-1].frame+k.one.first+1
	err = shot.Pictures(ctx, min(from, shot.Len()-1), min(to, shot.Len()), func(n int, m image.Image) error {
		return f.picture(n-k.one.first, m)
	})
	if err != nil {
		return err
	}
	return f.end(ctx)
}

// filmed is a marked clip of which some frames are done.
type filmed struct {
	*marking
	sinks
	next        int         // run
	ground      image.Image // the footage's last frame shown
	done, total int
}

// picture takes a frame of the footage. Runs whose frame was damaged show the one before.
func (f *filmed) picture(frame int, m image.Image) error {
	for f.next < len(f.runs) && f.runs[f.next].frame < frame {
		if f.ground == nil {
			f.ground = m
		}
		if err := f.show(); err != nil {
			return err
		}
	}
	if f.next == len(f.runs) || f.runs[f.next].frame != frame {
		return nil
	}
	f.ground = m
	return f.show()
}

// show draws the next run.
func (f *filmed) show() error {
	r := f.runs[f.next]
	f.next++
	f.paper.Mark(f.moment(r))
	return f.hand(r.count)
}

// hand hands what is marked over, so many times.
func (f *filmed) hand(count int) error {
	if f.overlay != nil {
		if err := f.overlay(f.paper.Alpha(), count); err != nil {
			return err
		}
	}
	if f.clip != nil {
		if err := again(f.clip, f.paper.Frame(f.ground).Pix, count); err != nil {
			return err
		}
	}
	f.done += count
	f.o.progress("draw", f.done, f.total)
	return nil
}

// end shows what is left of the runs, and the card.
func (f *filmed) end(ctx context.Context) error {
	if f.ground == nil {
		return errNoFrame
	}
	for f.next < len(f.runs) {
		if err := f.show(); err != nil {
			return err
		}
	}
	if f.o.hides("card") {
		return ctx.Err()
	}
	f.paper.MarkCard(f.card())
	return f.hand(f.cardFrames())
}
