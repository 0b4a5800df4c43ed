package trace

import (
	"context"
	"math"
	"slices"

	"padside/fault"
	"padside/footage"
	"padside/register"
)

// Source is footage as this package reads it. Size and Len are known before reading.
type Source interface {
	Size() (width, height int) // px, after rotation
	Len() int                  // frames
	// Read decodes frames from..to-1 in order and hands each to visit, which owns it from then on.
	// It stops at visit's first error and returns it, wrapped or not.
	Read(ctx context.Context, from, to int, visit func(footage.Frame) error) error
}

// Box is a rectangle of the picture, px: X, Y the centre of its top left pixel.
type Box struct{ X, Y, W, H float64 }

// Mark is a place of the traced point set by hand, in the frame as filmed, px.
type Mark struct {
	Frame, Lane int // Lane 0 means 1
	X, Y        float64
	U           float64 // standard uncertainty of either coordinate, px; 0: 0.5
}

// Options says what to follow and how. The zero value finds one vehicle by itself, in the whole footage.
type Options struct {
	From, To int   // frames From..To-1; To 0: to the end
	Frame    int   // the frame in which Box holds the part to follow
	Box      *Box  // nil: the vehicle is found by itself
	Steady   []Box // still background that shows the camera's shake; none: found by itself
	Lanes    int   // vehicles, left to right; 0: 1
	NoFollow bool  // use only Marks
	// FixedCamera says, of marks alone, that the camera stood still: nothing is taken out of them, and nothing allowed for.
	FixedCamera bool
	Marks       []Mark
	ExpectDown  bool // the object falls
	// Rod is the way along which a rod shows heights to rise, a unit vector in the picture; zero: there is none. What goes across it, or against it if Rises is set,
	// is not what flies: no height could be told of it.
	Rod   [2]float64
	Rises bool
	// FrameTime is a frame's time in seconds; nil: frames are evenly spaced. It serves prediction
	// and, with Exposure, the blur of the moving patch. It is called from several goroutines at once.
	FrameTime func(frame int) float64
	// Exposure is how long a frame was exposed, s, where ExposureGiven says so. Else it is unknown, from nothing to the time between two frames, and taken from the blur seen.
	Exposure      float64
	ExposureGiven bool
	Workers       int // 0: GOMAXPROCS. The result does not depend on it.
	Memory        int // bytes for frames kept while looking back; 0: 96 MB
	Progress      func(frame int)
}

// alongRod is the least cosine between the rod and the way of what flies: beyond 60 degrees the rod would be refused (package camera).
const alongRod = 0.5

// goesAlong reports whether a way, of any length, px, can be that of what flies by what the rod tells of it.
func (o *Options) goesAlong(way [2]float64) bool {
	if o.Rod == [2]float64{} {
		return true
	}
	along := (way[0]*o.Rod[0] + way[1]*o.Rod[1]) / math.Hypot(way[0], way[1])
	if !o.Rises {
		along = math.Abs(along)
	}
	return along > alongRod
}

const (
	defaultMemory = 96 << 20
	defaultMarkU  = 0.5 // px: a click under a loupe (common practice, no source)
)

func (o Options) withDefaults(src Source) Options {
	if o.To == 0 || o.To > src.Len() {
		o.To = src.Len()
	}
	if o.Lanes == 0 {
		o.Lanes = 1
	}
	if o.FrameTime == nil {
		o.FrameTime = func(i int) float64 { return float64(i) }
		o.Exposure, o.ExposureGiven = 0, false
	}
	if o.Memory == 0 {
		o.Memory = defaultMemory
	}
	if o.Progress == nil {
		o.Progress = func(int) {}
	}
	return o
}

// steady is the given still background in whole pixels of the picture.
func (o Options) steady(l *footage.Luma) []register.Area {
	var out []register.Area
	for _, b := range o.Steady {
		out = append(out, b.area(l.Width, l.Height))
	}
	return out
}

// longestExposure is the shortest usual time between two frames, s: the lower quartile.
func (o Options) longestExposure() float64 {
	var steps []float64
	for i := o.From; i+1 < o.To; i++ {
		steps = append(steps, o.FrameTime(i+1)-o.FrameTime(i))
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return max(0, steps[len(steps)/4])
}

// exposure is what is stated of it.
func (o Options) exposure() Exposure {
	if o.ExposureGiven {
		return Exposure{Value: o.Exposure, Least: o.Exposure, Most: o.Exposure, Given: true}
	}
	return unknownExposure(o.longestExposure())
}

// check refuses what cannot be followed.
func (o Options) check(src Source) error {
	w, h := src.Size()
	if o.From < 0 || o.From >= o.To {
		return fault.Requestf("give from and to as frames of the footage, the first one being 0",
			"frames %d to %d are not in the footage, which has %d", o.From, o.To, src.Len())
	}
	if o.Lanes < 0 || o.Lanes > mostLanes {
		return fault.Requestf("give the number of vehicles in view", "%d lanes cannot be followed, %d at most", o.Lanes, mostLanes)
	}
	if o.Box != nil && o.Lanes > 1 {
		return fault.Requestf("leave the box out, so that all vehicles are found by themselves, or follow one lane",
			"one box cannot say which part of each of %d vehicles to follow", o.Lanes)
	}
	if o.Box != nil {
		if err := checkBox("box", *o.Box, w, h); err != nil {
			return err
		}
		if o.Frame < o.From || o.Frame >= o.To {
			return fault.Requestf("name a frame between them in which the box holds the vehicle",
				"frame %d of the box is not among frames %d to %d", o.Frame, o.From, o.To-1)
		}
	}
	for _, b := range o.Steady {
		if err := checkBox("steady patch", b, w, h); err != nil {
			return err
		}
	}
	for _, m := range o.Marks {
		if m.Frame < o.From || m.Frame >= o.To {
			return fault.Requestf("give a frame of the footage", "the mark in frame %d is not among frames %d to %d", m.Frame, o.From, o.To-1)
		}
		if !(m.X >= -0.5 && m.Y >= -0.5 && m.X <= float64(w)-0.5 && m.Y <= float64(h)-0.5) {
			return fault.Requestf("x runs to the right and y down, from the centre of the top left pixel",
				"the mark (%g, %g) in frame %d is outside the picture of %d x %d px", m.X, m.Y, m.Frame, w, h)
		}
		if m.Lane < 0 || m.Lane > o.Lanes {
			return fault.Requestf("lanes are counted from 1, left to right", "the mark in frame %d is in lane %d of %d", m.Frame, m.Lane, o.Lanes)
		}
	}
	return nil
}

const (
	mostLanes = 16
	leastSide = 6 // px: less holds too few pixels to match
)

func checkBox(what string, b Box, w, h int) error {
	for _, v := range []float64{b.X, b.Y, b.W, b.H} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fault.Requestf("give x, y, width and height in pixels", "the %s has a side of %g", what, v)
		}
	}
	if b.W < leastSide || b.H < leastSide {
		return fault.Requestf(sideHint, "the %s of %g x %g px is too small to match", what, b.W, b.H)
	}
	if b.X < -0.5 || b.Y < -0.5 || b.X+b.W > float64(w)+0.5 || b.Y+b.H > float64(h)+0.5 {
		return fault.Requestf("give x, y, width and height in pixels, counted from the top left",
			"the %s (%g, %g, %g x %g px) reaches outside the picture of %d x %d px", what, b.X, b.Y, b.W, b.H, w, h)
	}
	return nil
}

const sideHint = "make it at least 6 px wide and high; 20 to 60 px are best"

// area returns the whole pixels of the box, inside a picture of w by h.
func (b Box) area(w, h int) register.Area {
	return register.Area{X: int(math.Round(b.X)), Y: int(math.Round(b.Y)), W: int(math.Round(b.W)), H: int(math.Round(b.H))}.Clip(register.Area{X: 0, Y: 0, W: w, H: h})
}
