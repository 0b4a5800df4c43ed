package desk

import (
	"context"
	"errors"
	"fmt"
	"image"
	"math"
	"slices"

	"padside/footage"
	"padside/guard"
	"padside/motion"
	"padside/picture"
	"padside/wording"
)

// clip writes the race as a clip.
func (r *contest) clip(ctx context.Context) error {
	paper, err := picture.NewRace(r.spec())
	if err != nil {
		r.sheet.Warnings = append(r.sheet.Warnings, undrawn("the clip", err))
		return nil
	}
	w, h := paper.Size()
	c := &r.cadence
	r.sheet.Clip = &RaceFile{Path: r.o.Clip, Width: w, Height: h, Frames: c.frames + c.still, RateHz: raceRate, Slow: c.slow, From: c.from}
	e := ClipEncoding(r.o.Clip, w, h)
	e.FFmpeg = r.o.FFmpeg
	return encodeAtomic(ctx, r.o.Clip, e, func(ctx context.Context, put func([]byte) error) error { return r.film(ctx, paper, put) })
}

// printed is one frame of a launch as its panel shows it.
type printed struct {
	frame int // from 0, of those used
	print *image.RGBA
}

// ahead is how many printed frames of each launch may wait.
const ahead = 2

// film draws the frames in order. Each launch's footage is read in one pass forward, by a goroutine that prints the frames that will be
// shown; of each no more than a few are in memory. Two vehicles of one footage are two passes, since they are shown at
// different instants.
func (r *contest) film(ctx context.Context, paper *picture.Race, put func([]byte) error) error {
	g, ctx := guard.WithContext(ctx)
	var feeds []chan printed
	for i := range r.runners {
		feed := make(chan printed, ahead)
		feeds = append(feeds, feed)
		g.Go(func() error {
			defer close(feed)
			return r.prints(ctx, i, paper, feed)
		})
	}
	g.Go(func() error {
		f := filming{contest: r, paper: paper, moments: make([]picture.RaceMoment, len(r.runners)), next: make([]*printed, len(r.runners)), feeds: feeds}
		for k := range r.cadence.frames + r.cadence.still {
			m, err := f.frame(ctx, k)
			if err != nil {
				return err
			}
			if err := put(m.Pix); err != nil {
				return err
			}
			r.o.progress("draw", k+1, r.cadence.frames+r.cadence.still)
		}
		return nil
	})
	return g.Wait()
}

// shown is the frame of a launch that is shown at an instant.
func (r *contest) shown(i int, t float64) int {
	one := &r.runners[i]
	return one.frameAt(min(t, one.over), r.cadence.held)
}

// prints reads a launch's footage and hands on the frames that will be shown.
func (r *contest) prints(ctx context.Context, i int, paper *picture.Race, feed chan<- printed) error {
	one := &r.runners[i]
	var wanted []int
	for k := range r.cadence.frames {
		if f := r.shown(i, r.cadence.at(k)); len(wanted) == 0 || f != wanted[len(wanted)-1] {
			wanted = append(wanted, f)
		}
	}
	shot, err := footage.Open(ctx, one.launch.Footage.Path, footage.Options{Rotate: one.launch.Footage.Rotate, FFmpeg: r.o.FFmpeg})
	if err != nil {
		return err
	}
	defer shot.Close()
	rest := one.path.Line.Rest
	last := min(one.first+wanted[len(wanted)-1]+1, shot.Len())
	return shot.Pictures(ctx, min(one.first+wanted[0], last-1), last, func(n int, m image.Image) error {
		n -= one.first
		for len(wanted) > 0 && wanted[0] < n { // damaged
			wanted = wanted[1:]
		}
		if len(wanted) == 0 || wanted[0] != n {
			return nil
		}
		dx, dy := one.seen.Shake(n+one.first, rest.X, rest.Y)
		select {
		case feed <- printed{n, paper.Print(i, m, dx, dy)}:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	})
}

// filming is the race as it is being drawn.
type filming struct {
	*contest
	paper   *picture.Race
	moments []picture.RaceMoment
	feeds   []chan printed
	next    []*printed // printed and not shown yet; nil: none was taken from the feed
}

var errNoFrame = errors.New("no frame can be shown")

// frame draws frame k.
func (f *filming) frame(ctx context.Context, k int) (*image.RGBA, error) {
	t := f.cadence.at(k)
	for i := range f.runners {
		m := f.moment(i, t)
		var err error
		if m.Print, err = f.turn(ctx, i, f.shown(i, t), k == 0); err != nil {
			return nil, err
		}
		f.moments[i] = m
	}
	if err := ctx.Err(); err != nil { // a feed that failed has closed
		return nil, err
	}
	return f.paper.Frame(t, f.cadence.clockWords(t), f.moments), nil
}

// turn returns the print that takes the panel's place, nil where it stays. must says that the panel is empty.
func (f *filming) turn(ctx context.Context, i, frame int, must bool) (*image.RGBA, error) {
	var out *image.RGBA
	for {
		if f.next[i] == nil {
			select {
			case p, more := <-f.feeds[i]:
				if !more {
					if must && out == nil {
						return nil, errors.Join(ctx.Err(), errNoFrame)
					}
					return out, nil
				}
				f.next[i] = &p
			case <-ctx.Done():
				return nil, ctx.Err()
			}
		}
		if f.next[i].frame > frame && !(must && out == nil) {
			return out, nil
		}
		out, f.next[i] = f.next[i].print, nil
		if frame >= f.runners[i].frameAt(f.runners[i].over, f.cadence.held) { // the last: do not wait for more
			return out, nil
		}
	}
}

// moment is what is known of a launch at an instant.
func (f *filming) moment(i int, t float64) picture.RaceMoment {
	one := &f.runners[i]
	s := one.state(min(t, one.over, one.gone))
	m := picture.RaceMoment{Height: s.Height, U: s.UHeight, Speed: s.Speed, USpeed: s.USpeed, Still: t > min(one.over, one.gone)+f.cadence.step()}
	m.Reading = one.reading(f.sheet.read, t, s)
	if one.award != "" && t >= one.over {
		m.Place, m.Time = one.award, timeWords(one.time)
	}
	m.Note = f.note(i, t)
	return m
}

// note says what is to be known of the picture shown at an instant.
func (f *filming) note(i int, t float64) string {
	one := &f.runners[i]
	end := one.times[len(one.times)-1]
	missed := ""
	if one.time.Value == nil {
		missed = "did not reach " + f.goalText() + " in view"
	}
	switch {
	case one.award != "" && t >= one.over:
		return f.behind(i)
	case one.left && t > one.gone && missed != "":
		return missed
	case t > end && missed != "":
		return "footage ended: " + missed
	case t < one.times[0]-one.step():
		return "footage begins later"
	}
	return f.age(one, t)
}

// age says how far the picture is from the instant, where its camera is so slow that it matters.
func (f *filming) age(one *runner, t float64) string {
	off := t - one.times[one.frameAt(t, f.cadence.held)]
	words := wording.TimeText(math.Round(1e3*math.Abs(off)) / 1e3)
	switch {
	case one.step() < slowCamera*f.cadence.step() || math.Abs(off) < 1e-3 || t > one.times[len(one.times)-1]:
		return ""
	case off < 0:
		return "picture " + words + " ahead"
	}
	return "picture " + words + " old"
}

// slowCamera is from how many frames of the clip for one of the footage a picture's age is said.
const slowCamera = 3

// behind says how a launch that finished stands to the others.
func (r *contest) behind(i int) string {
	for k, p := range r.sheet.Order {
		switch {
		case !slices.Contains(p, i+1):
		case len(p) > 1:
			return "shared: too close to tell apart"
		case k > 0:
			if gap := r.sheet.gap(i+1, r.sheet.Order[0][0]); gap != "" {
				return fmt.Sprintf("%s after %d", gap, r.sheet.Order[0][0])
			}
		}
	}
	return ""
}

func (r *contest) goalText() string {
	if r.goalAs != "" {
		return r.goalAs
	}
	return r.sheet.read.GateText(r.goal)
}

// reading writes the speed with its 95 % interval, no finer than halfway through the flight, so that the number does not flicker.
func (one *runner) reading(read wording.Reader, t float64, s motion.State) string {
	if t <= 0 {
		return "at rest"
	}
	return steadyWords(read.Speed(), s.Speed, s.USpeed, one.state(min(one.over, one.gone)/2).USpeed)
}
