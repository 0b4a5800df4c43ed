package desk

import (
	"context"
	"math"
	"slices"

	"padside/camera"
	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/motion"
	"padside/noise"
	"padside/trace"
)

// seen is what measuring needs of one vehicle that was followed: where it was when, px and s, and what is common to all of that.
type seen struct {
	lane     int
	line     camera.FlightLine
	leftView bool
	growth   camera.Growth
	// toldSkew is what the vehicle's length alone tells of the shutter's delay for each px up the flight line, s/px;
	// toldSkewU 0: nothing.
	toldSkew, toldSkewU float64
	clock
	warnings []fault.Warning
	restU    float64 // px, of what all spots at rest err by together
	digest   string  // of the footage
	spots    []spot
}

// spot is the traced point in one frame.
type spot struct {
	frame   int
	t       float64 // s, when its row was centred
	stray   float64 // s, even time less the stamp's, where the camera may have taken its pictures evenly
	ut      float64 // s, standard uncertainty of that time alone
	x, y, u float64 // px; u of this frame alone
	uPhase  float64 // px, beside it, of what goes with the phase
	uDoubt  float64 // px, beside both, of what neighbouring frames have together
	phase   noise.Phase
	copy    bool // the codec made it of other frames: it adds nothing to theirs
	byHand  bool // marked
}

// total is the standard uncertainty of a spot along the flight line, px, all parts together.
func (q *spot) total() float64 { return math.Sqrt(q.u*q.u + q.uPhase*q.uPhase + q.uDoubt*q.uDoubt) }

// seenLane takes over what was followed.
func seenLane(l *logbook.Launch, p trace.Path, f *followed) seen {
	out := seen{lane: p.Lane, line: p.Line, leftView: p.LeftView, growth: growth(p), clock: f.clock(l), restU: max(p.RestU, trace.RestU)}
	for _, q := range p.Points {
		out.spots = append(out.spots, spot{q.Frame, f.base.TimeAt(q.Frame, q.Col, q.Row), out.stray(q.Frame), out.stampU(q.Frame), q.X, q.Y, q.U, q.UPhase, q.UDoubt, q.Phase, q.Copy, q.Source == trace.SourceMarked})
	}
	out.skewed()
	return out
}

// byHand reports whether all spots are marked by hand.
func (s *seen) byHand() bool {
	return !slices.ContainsFunc(s.spots, func(q spot) bool { return !q.byHand })
}

// own is the standard uncertainty of a spot that is its own, px, with what it keeps of the error at rest.
func (s *seen) own(q spot) float64 { return math.Hypot(q.u, s.restU*noise.Leaving(s.along(q))) }

// along is how far up the flight line a spot is, px.
func (s *seen) along(q spot) float64 {
	return (q.x-s.line.Rest.X)*s.line.Ux + (q.y-s.line.Rest.Y)*s.line.Uy
}

// scaled works out the scale along the flight line, as far as the vehicle was seen: reach, px.
func (s *seen) scaled(l *logbook.Launch, info footage.Info) (scale *camera.Scale, reach float64, warnings []fault.Warning, err error) {
	for _, q := range s.spots {
		reach = math.Max(reach, s.along(q))
	}
	scale, warnings, err = camera.Calibrate(scaleSpec(l, info), s.line, reach, sizes(l, s.growth, reach))
	return scale, reach, warnings, err
}

// measure turns spots into heights and those into answers. Of info only the size of the picture counts.
func (s *seen) measure(ctx context.Context, l *logbook.Launch, info footage.Info, o Options) (*Lane, []fault.Warning, error) {
	scale, reach, warnings, err := s.scaled(l, info)
	if err != nil {
		return nil, warnings, err
	}
	warnings = append(warnings, s.warnings...)
	lane := &Lane{Scale: scale}
	var told []motion.Observation
	for _, q := range s.spots {
		pitch := scale.MetresPerPixel(s.along(q))
		o := motion.Observation{Frame: q.frame, T: q.t,
			H: scale.HeightAt(camera.Pixel{X: q.x, Y: q.y}), U: q.total() * pitch, UT: q.ut}
		lane.Heights = append(lane.Heights, o)
		if q.stray != 0 {
			t := q.t + q.stray
			o.Even, o.EvenU = &t, s.StrayU
		}
		if !q.copy {
			o.Phase, o.U, o.DoubtU = q.phase, s.own(q)*pitch, q.uDoubt*pitch
			told = append(told, o)
		}
	}
	lane.told = motion.Input{
		Lane: s.lane, Observations: told, Interval: s.Interval, LeftView: s.leftView, Kind: flies(l),
		PhaseU: trace.PhaseU * scale.MetresPerPixel(0), RestU: s.restU * scale.MetresPerPixel(0),
		Common:    s.common(scale, reach),
		Questions: questions(l),
		Seed:      pathSeed(l, s.lane, s.digest, max(1, o.Seed)), SetupSeed: setupSeed(l, s.digest, max(1, o.Seed)),
	}
	lane.told.Questions.Window = o.window
	lane.Motion, err = motion.Measure(ctx, lane.told)
	if err != nil {
		return nil, warnings, err
	}
	lane.Motion.Warnings = append(lane.Motion.Warnings, s.pairUp(l, lane)...)
	lane.Motion.Warnings = append(lane.Motion.Warnings, s.lostSight(lane.Motion)...)
	lane.Motion.Warnings = append(lane.Motion.Warnings, playback(lane.told.Kind, s.line.Uy < 0, s.Played, lane.Motion)...)
	return lane, append(append(warnings, lane.Motion.Warnings...), implausible(lane.Motion.Answers)...), nil
}

// sizeDoubt is the least standard uncertainty of how the apparent size has changed by the end of the trace: matched sizes err together by more than
// each states (drawn launches: up to 2.7 %).
const sizeDoubt = 0.03

// sizes is what the scale may learn from the growth of the vehicle's apparent size, seen up to reach. The length of its barrel tells of the lean whatever
// the reference, but where the marks lie on the flight line itself. What is matched besides knows the perspective less well than a rod or a plane beside the
// flight line; a length on the vehicle has nothing else.
func sizes(l *logbook.Launch, seen camera.Growth, reach float64) camera.Growth {
	switch {
	case !seen.Known || reach <= 0 || l.Scale.OnLine:
		return camera.Growth{Wide: seen.Wide}
	case seen.Ruler:
		return seen
	case l.Scale.Kind != camera.KindLength:
		return camera.Growth{Wide: seen.Wide}
	}
	seen.U = math.Max(seen.U, sizeDoubt/reach)
	return seen
}

// growth is how the length of the vehicle's barrel changes along the flight line or, where none is seen, fits the apparent size against the
// way by weighted least squares through size 1 at rest. Known is false when the sizes say nothing.
func growth(p trace.Path) camera.Growth {
	if r := p.Ruler; r.Frames > 0 {
		return camera.Growth{Rate: r.Rate, U: r.U, Known: true, Ruler: true, Wide: r.Wide,
			RatePerSkew: r.RatePerSkew, RateBend: r.RateBend, Skew: r.Skew, SkewU: r.SkewU}
	}
	var sxx, sxy float64
	for _, q := range p.Points {
		if !(q.USize > 0) || q.USize >= 1 {
			continue
		}
		s := (q.X-p.Line.Rest.X)*p.Line.Ux + (q.Y-p.Line.Rest.Y)*p.Line.Uy
		w := 1 / (q.USize * q.USize)
		sxx += w * s * s
		sxy += w * s * (q.Size - 1)
	}
	if sxx == 0 {
		return camera.Growth{}
	}
	return camera.Growth{Rate: sxy / sxx, U: 1 / math.Sqrt(sxx), Known: true}
}
