package desk

import (
	"fmt"
	"math"

	"padside/fault"
	"padside/motion"
)

const (
	clipLasts  = 6.0 // s, about, that the flight plays where nothing else is asked for
	clipHolds  = 15  // frames of the clip, at most, for one of the footage where nothing else is asked for
	clipSkips  = 15  // s of playback from which on frames of the footage are left out instead
	clipLead   = 0.8 // s of playback before first motion
	clipTail   = 0.5 // s of playback after the vehicle was last seen
	freezeLast = 1.5 // s of playback that a freeze adds
	cardLasts  = 4.0 // s of playback of the end card
	freshLasts = 0.9 // s of playback that a split is new
)

// run is a frame of the footage, from 0 of those used, and how many frames of the clip show it.
type run struct{ frame, count int }

// pace decides which frames of the footage are shown, and for how long. Each is shown as often as
// the others, or every so many are, unless another slowness was asked for; each frame of the clip
// shows the one centred nearest to its instant.
func (k *marking) pace() error {
	one := &k.one
	first, last := k.inView()
	c := &k.cadence
	step := one.step()
	if c.slow = k.o.Slow; c.slow == 0 {
		c.slow = chosenSlow(last-first, step)
	}
	lead := max(clipLead, 0.1*(one.times[last]-one.times[first])*c.slow)
	c.to = one.times[min(last+int(math.Ceil(clipTail/c.slow/max(step, 1e-9))), len(one.times)-1)]
	c.from = max(one.times[first]-lead/c.slow, one.times[0])
	from := one.frameAt(c.from, false)
	c.from = one.times[from] - max(0, step-c.step())/2 // the middle of a frame's stretch is its own instant
	n := math.Floor((c.to-c.from+max(step, c.step())/2)*c.slow*raceRate+1e-6) + 1
	if n > mostFrames {
		return fault.Requestf(fmt.Sprintf("slow it by %.3g at most, or cut the footage with [footage] from and to", c.slow*mostFrames/n),
			"slowed by %g the clip would have %.0f frames; %d are the most", c.slow, n, mostFrames)
	}
	c.frames = int(n)
	for i := range c.frames {
		f := one.frameAt(c.at(i), false)
		if n := len(k.runs); n > 0 && k.runs[n-1].frame == f {
			k.runs[n-1].count++
			continue
		}
		k.runs = append(k.runs, run{f, 1})
	}
	k.freeze()
	return nil
}

// chosenSlow is how many times slower than life footage plays whose flight has so many frames, step
// s apart: all are shown for a whole number of frames of the clip, or, of very many, every so many
// for one. It is never faster than life.
func chosenSlow(frames int, step float64) float64 {
	if !(step > 0) {
		return 1
	}
	flight := float64(max(1, frames))
	hold := min(max(1, math.Round(clipLasts*raceRate/flight)), clipHolds)
	skip := 1.0
	if flight > clipSkips*raceRate {
		skip = math.Ceil(flight / (clipSkips * raceRate))
	}
	slow := func() float64 { return hold / (skip * step * raceRate) }
	for skip > 1 && slow() < 1 {
		skip--
	}
	for slow() < 1-1e-3 {
		hold++
	}
	return slow()
}

// inView are the frames, from 0 of those used, of first motion and of the last place seen.
func (k *marking) inView() (first, last int) {
	one := &k.one
	last = len(one.times) - 1
	if n := len(one.path.Points); n > 0 {
		first = max(0, one.path.Points[0].Frame-one.first)
		last = min(max(first, one.path.Points[n-1].Frame-one.first), last)
	}
	if k.timed {
		first = min(one.frameAt(0, false), last)
	}
	return first, last
}

// freeze holds the clip where speeds were reached or gates passed.
func (k *marking) freeze() {
	if k.o.Freeze == "none" {
		return
	}
	next := 0
	for _, s := range k.splits {
		if s.speed == (k.o.Freeze == "gates") {
			continue
		}
		for next < len(k.runs) && k.one.times[k.runs[next].frame] < s.at {
			next++
		}
		if next == len(k.runs) {
			return
		}
		if !k.frozen[next] {
			k.frozen[next] = true
			k.runs[next].count += int(freezeLast * raceRate)
		}
	}
}

// answered says whether the motion itself was answered: whatever rests on it may have been taken
// back.
func (k *marking) answered() bool {
	for _, a := range k.answers {
		if a.ID == motion.PeakSpeed {
			return a.Value != nil
		}
	}
	return false
}
