package shoot

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"sort"
	"time"

	"padside/camera"
	"padside/fault"
	"padside/flight"
	"padside/metrology"
	"padside/motion"
	"padside/trace"
)

const (
	// traceU is the standard uncertainty of a traced place, px, with a sharp picture: drawn clips and stills err by 0.03 to 0.06 (bench/accuracy).
	traceU = 0.05
	// markU is the standard uncertainty of a mark placed under the loupe, px along one axis.
	markU = 0.5
	// foreseen is how often each mode is simulated: the first motion falls at another place between two frames each time, and the vehicle's length is
	// seen to change or not. The middle one counts; all together say how far half widths spread.
	foreseen = 8
	// restFrames is how many frames before first motion are simulated, of a clip; a burst has restStills.
	restFrames, restStills = 60, 3
	// mostFrames is how many frames in flight are simulated; of more, every k-th counts, with the noise of their mean.
	mostFrames = 500
	// stillTick is what the clock of a camera of stills ticks in: their times are cut to it, and evenly spread over it.
	stillTick = 10 * time.Millisecond
)

// stillU is the standard uncertainty of the time of a still, s (GUM, JCGM 100:2008, 4.3.7).
var stillU = stillTick.Seconds() / math.Sqrt(12)

// recording is what a camera's way of recording does to places near rest: by how much, px, all frames at rest err together, standard uncertainty, and how far
// the vehicle goes before a frame shows it. The figures are trace's own, of drawn footage (docs/methods.md, Compression; Between pixels).
type recording struct{ restU, held float64 }

// recording is that of a camera. A clip is taken for coded between frames, as phones, action and most high-speed cameras do; stills are coded each by itself.
func (c Camera) recording() recording {
	if c.Burst != nil {
		return recording{restU: trace.RestU}
	}
	return recording{trace.CodedRestU, trace.HeldWay}
}

// foresight is what the footage of one mode would say: the answers of each simulated take, in the order of its questions.
type foresight struct {
	takes [][]metrology.Answer // answers of motion; one list per take, its time 0 at first motion
	err   error                // why there is no answer at all
}

// foresee simulates the traced heights of a mode's frames and lets package motion answer. It returns an error where motion could not be run at all;
// footage that cannot say is part of the foresight.
func (s *Shoot) foresee(ctx context.Context, o *Option, seed uint64) (*foresight, error) {
	var f foresight
	for k := range foreseen {
		if !evenly(k, s.found(o)) {
			f.err = fault.NoAnswerf("a higher rate, or see more of the flight", "the vehicle moves by %.2g of its own lengths from picture to picture: it may not be found in them", o.topSpeed/o.Rate/s.Expected.Length)
			continue
		}
		phase := (float64(k) + 0.5) / foreseen
		in, err := s.simulate(o, simulated{phase, evenly(k, rulerOdds), doubtOf(k)}, rand.New(rand.NewPCG(seed, uint64(k))))
		if err == nil {
			var r *motion.Result
			if r, err = motion.Measure(ctx, in); err == nil {
				f.takes = append(f.takes, r.Answers)
				continue
			}
		}
		var said *fault.Error
		if ctx.Err() != nil || !errors.As(err, &said) {
			return nil, err
		}
		f.err = err
	}
	return &f, nil
}

// A vehicle that moves far from picture to picture, against its length, may not be found in all of them.
// Of drawn films of bench/plans (seeds below 1000 and 4000 to 4123) in which it does so by its own length
// and more in bursts, which have few pictures of it, 8 of 22 were answered; by leapClip of its length and more
// in clips, three of four.
const (
	leapClip              = 0.6
	burstFound, clipFound = 0.4, 0.75
)

// found is how often the trace finds the vehicle to the end in a mode.
func (s *Shoot) found(o *Option) float64 {
	step := o.topSpeed / o.Rate / s.Expected.Length
	switch {
	case o.camera.Burst != nil && step > 1:
		return burstFound
	case o.camera.Burst == nil && step > leapClip:
		return clipFound
	}
	return 1
}

// evenly says whether take k of those foreseen has what a share of them has, spread evenly among the instants of first motion.
func evenly(k int, share float64) bool {
	const golden = 0.6180339887498949
	_, part := math.Modf((float64(k) + 0.5) * golden)
	return part < share
}

// simulated is what one simulated take has of its own: where first motion falls between two frames, whether the trace sees the barrel's length, and how
// large the errors are that a second reference shows, a standard normal quantile of what is usual.
type simulated struct {
	phase float64
	ruler bool
	doubt float64
}

// doubtOf spreads take k's quantile evenly in probability over the takes, in another order than the instants of first motion.
func doubtOf(k int) float64 {
	const stride = 3 // has no factor in common with foreseen
	part := (float64(stride*k%foreseen) + 0.5) / foreseen
	return math.Sqrt2 * math.Erfinv(2*part-1)
}

// spec is the reference as it would be marked in the pictures of a view.
func (s *Shoot) spec(v view, r *rand.Rand) (camera.Spec, error) {
	spec := camera.Spec{Kind: s.Reference.Kind, FlightRange: s.Place.Range, RodRange: s.Reference.Range, Lean: s.Place.Lean, Width: v.across, Height: v.along}
	if s.Reference.Kind == camera.KindRod && s.Reference.Range.Given {
		v.distance = s.Reference.Range.Value // what is seen of the rod at its own distance
	}
	place := func(height float64) (camera.Pixel, bool) {
		p := v.pixel(height)
		p.X, p.Y = p.X+markU*r.NormFloat64(), p.Y+markU*r.NormFloat64()
		return p, p.Y >= 0 && p.Y <= float64(v.along-1)
	}
	if s.Reference.Kind == camera.KindLength {
		spec.Length = camera.Measured{Value: s.Reference.Length, Given: true}
		seen := true
		for i := range spec.Ends {
			var in bool
			spec.Ends[i], in = place(s.Expected.After(-s.Reference.Length * float64(i)))
			seen = seen && in
		}
		if !seen {
			return spec, fault.NoAnswerf("tilt the camera down", "the length that gives the scale is not whole in view")
		}
		return spec, nil
	}
	for i := range s.Reference.Marks {
		at := s.Reference.Length * float64(i) / float64(s.Reference.Marks-1)
		if p, in := place(at); in {
			spec.Marks = append(spec.Marks, camera.Mark{Height: at, At: p})
		}
	}
	if len(spec.Marks) < 2 {
		return spec, fault.NoAnswerf("place the rod where the picture shows it, or mark it closer", "%d marks of the rod are in view, where two are needed", len(spec.Marks))
	}
	return spec, nil
}

// asked is what motion is asked: everything that the questions need, each once and in order.
func (s *Shoot) asked() motion.Questions {
	q := motion.Questions{DropCheck: s.Expected.falls()}
	if q.DropCheck {
		q.Gravity = flight.LocalGravity(nil, nil)
	}
	for _, a := range s.Questions {
		if a.Speed > 0 {
			q.Speeds = append(q.Speeds, a.Speed)
		}
		for _, h := range []float64{a.Height, a.From, a.To} {
			if h > 0 {
				q.Gates = append(q.Gates, h)
			}
		}
	}
	q.Speeds, q.Gates = sorted(q.Speeds), sorted(q.Gates)
	return q
}

// sorted returns the values in order, each once.
func sorted(x []float64) []float64 {
	sort.Float64s(x)
	var out []float64
	for i, v := range x {
		if i == 0 || v != x[i-1] {
			out = append(out, v)
		}
	}
	return out
}

// answer finds what a take says to a question.
func (q Question) answer(answers []metrology.Answer) (metrology.Answer, bool) {
	for _, a := range answers {
		if q.Is(a) {
			return a, true
		}
	}
	return metrology.Answer{}, false
}

// Is says whether an answer is one to the question.
func (q Question) Is(a metrology.Answer) bool {
	same := func(asked float64, said *float64) bool {
		return said == nil || math.Abs(asked-*said) <= 1e-9*math.Abs(asked)
	}
	return a.ID == q.Answer && same(q.Speed, a.Speed) && same(q.Height, a.Height) && same(q.From, a.From) && same(q.To, a.To)
}

// Relative returns half the width of an answer's interval, and how far the answer lies from a truth, relative to that truth. The time at which a height is
// passed counts from first motion.
func Relative(a metrology.Answer, truth, firstMotion float64) (half, off float64) {
	size := truth
	if a.ID == motion.GateCrossing {
		size -= firstMotion
	}
	size = math.Abs(size)
	return (a.Interval[1] - a.Interval[0]) / 2 / size, (*a.Value - truth) / size
}
