package camera

import (
	"math"
	"math/rand/v2"

	"padside/fault"
)

// reference is what gives the scale: a map along the flight line under one draw of errors,
// at the reference's own distance, for a flight that does not lean.
type reference interface {
	along(d *draws) projective
	// coordinates is how many mark coordinates a draw needs.
	coordinates() int
	residuals() []MarkResidual
	// factor is what is known of the factor on the marks' stated uncertainty.
	factor() *noise
	// level is the direction in which a level line at right angles to the camera's heading is seen at p, lens taken out.
	level(p Pixel) (dx, dy float64)
}

// Scale turns pixels along the flight line into metres, and says how sure it is.
type Scale struct {
	spec   Spec
	given  FlightLine // as filmed
	line   FlightLine // with the lens's distortion taken out
	reach  float64    // px along line, farthest in view
	view   view
	ref    reference
	noise  *noise
	ranges ranges
	sized  sized
	growth Growth
	sharp  *sized // the same for a skew that is given
	// seenVariance is that of geometry and apparent size against each other, 1/px^2, where the skew is given.
	seenVariance float64
	best         projective // at the best estimates
	top          float64    // m, height at reach
	sources      []string
	leanSilent   bool // a lean was stated without uncertainty
	leanGiven    bool
	seenLean     float64 // rad, within the picture, against the rod
}

// Calibrate works out the scale along the flight line for 0 <= s <= reach (px, as filmed;
// reach is the farthest the vehicle is seen from rest). Growth, where known, tells
// the perspective of whatever the reference leaves open: the tilt, the lean. Warnings say what is assumed and what
// interval that causes; errors are fault.Request.
func Calibrate(spec Spec, line FlightLine, reach float64, growth Growth) (*Scale, []fault.Warning, error) {
	s, notes, err := calibrate(spec, line, reach, growth)
	if err != nil {
		return nil, nil, err
	}
	return s, append(notes, s.warnings()...), nil
}

// calibrate is Calibrate without the warnings whose wording takes intervals, which cost more than
// the scale does.
func calibrate(spec Spec, line FlightLine, reach float64, growth Growth) (*Scale, []fault.Warning, error) {
	leanSilent, leanGiven := spec.Lean.Given && spec.Lean.U == 0 && !spec.Lean.Exact, spec.Lean.Given
	spec = spec.withDefaults()
	if err := check(spec, line, reach, growth); err != nil {
		return nil, nil, err
	}
	s := &Scale{spec: spec, given: line, leanSilent: leanSilent, leanGiven: leanGiven}
	s.view = newView(spec, line, max(reach, 1))
	if err := s.view.lens.check(farthestPixel(spec, s.view.lens.Centre)); err != nil {
		return nil, nil, err
	}
	s.straighten(max(reach, 1))
	notes, err := s.measure()
	if err != nil {
		return nil, nil, err
	}
	s.expectLean()
	s.ranges = newRanges(s.spec, s.beside())
	s.best = s.ranges.apply(s.ref.along(s.rest()), s.rest())
	s.round(growth)
	s.best = s.ranges.apply(s.ref.along(s.rest()), s.rest())
	notes = append(notes, s.size(growth)...)
	s.best = s.along(s.rest())
	s.top = s.best.at(s.reach)
	if !(s.top > leastView && s.top < mostView) {
		return nil, nil, fault.Requestf("check the heights and places of the marks",
			"the scale turns %.4g px along the flight line into %g m", s.reach, s.top)
	}
	s.findSources()
	return s, notes, nil
}

// A view outside these bounds (m) is a slip of the pen, not a scale: no launch is filmed over
// less than ten micrometres or more than a thousand kilometres.
const (
	leastView = 1e-5
	mostView  = 1e6
)

// straighten takes the lens's distortion out of the flight line.
func (s *Scale) straighten(reach float64) {
	l := s.given
	rest := s.view.lens.Undistort(l.Rest)
	end := s.view.lens.Undistort(Pixel{l.Rest.X + reach*l.Ux, l.Rest.Y + reach*l.Uy})
	dx, dy := end.X-rest.X, end.Y-rest.Y
	s.reach = math.Hypot(dx, dy)
	s.line = FlightLine{Rest: rest, Ux: dx / s.reach, Uy: dy / s.reach}
}

// measure fits the reference of the spec's kind.
func (s *Scale) measure() (notes []fault.Warning, err error) {
	switch s.spec.Kind {
	case KindRod:
		var r *rod
		if r, notes, err = fitRod(s.spec, s.view, s.line); err != nil {
			break
		}
		if v, ok := r.focused(s.view, s.spec); ok {
			if r, notes, err = fitRod(s.spec, v, s.line); err != nil {
				break
			}
			s.view = v
		}
		s.ref, s.view = r, r.tilted(s.view)
		err = r.plausible(s.view, s.spec)
	case KindLength:
		s.ref, notes, err = newLength(s.spec, s.view, s.line)
	case KindPlane:
		s.ref, notes, err = fitPlane(s.spec, s.view, s.line)
	}
	if err == nil {
		s.noise = s.ref.factor()
	}
	return notes, err
}

// rest returns the draw without errors.
func (s *Scale) rest() *draws {
	return &draws{marks: make([]float64, s.ref.coordinates()), spread: s.noise.best}
}

// along returns the map from s to height under one draw of errors.
func (s *Scale) along(d *draws) projective { return s.geometry(s.conditioned(d)) }

// geometry is along without the apparent size.
func (s *Scale) geometry(d *draws) projective {
	p := s.ranges.apply(s.ref.along(d).within(s.reach), d)
	return s.leaned(p, d).within(s.reach)
}

// findSources lists what changes the height at the far end by more than 1e-7.
func (s *Scale) findSources() {
	matters := func(d *draws) bool {
		p := s.along(d)
		return math.Abs(p.at(s.reach)/s.top-1) > 1e-7 || math.Abs(p.a/s.best.a-1) > 1e-7
	}
	for _, name := range sourceOrder {
		d := s.rest()
		d.at(name, 1)
		found := matters(d)
		for i := 0; name == sourceMarks && i < len(d.marks) && !found; i++ { // each alone: together they may only shift
			d = s.rest()
			d.marks[i] = 1
			found = matters(d)
		}
		if found {
			s.sources = append(s.sources, name)
		}
	}
}

// Sources names what the scale's uncertainty is made of, in a fixed order.
func (s *Scale) Sources() []string { return append([]string(nil), s.sources...) }

// Height returns the height (m) at s pixels along the flight line as filmed.
func (s *Scale) Height(along float64) float64 {
	return s.HeightAt(Pixel{s.given.Rest.X + along*s.given.Ux, s.given.Rest.Y + along*s.given.Uy})
}

// HeightAt returns the height (m) of what is seen at p, by the point of the flight line
// nearest to it.
func (s *Scale) HeightAt(p Pixel) float64 { return s.best.at(s.way(p)) }

// way is s along the straightened line of what is seen at p.
func (s *Scale) way(p Pixel) float64 {
	u := s.view.lens.Undistort(p)
	return (u.X-s.line.Rest.X)*s.line.Ux + (u.Y-s.line.Rest.Y)*s.line.Uy
}

// MetresPerPixel returns the height that one pixel of the flight line as filmed spans at s.
func (s *Scale) MetresPerPixel(along float64) float64 {
	const half = 0.5 // px: the lens is smooth over far more than a pixel
	return (s.Height(along+half) - s.Height(along-half)) / (2 * half)
}

// Undistort returns where a perfect lens would show what is seen at p.
func (s *Scale) Undistort(p Pixel) Pixel { return s.view.lens.Undistort(p) }

// Residuals lists how far each mark lies from the fitted scale; for a length it is empty.
func (s *Scale) Residuals() []MarkResidual { return s.ref.residuals() }

// Warp draws one possible truth of all errors common to the frames of a launch: those its setup shares from setup
// alone, the lean of this one flight and what its size errs by from launch; the source named by hold stays at its best value and the others draw the numbers
// they would have drawn anyway. It is exact at one, two and three thirds of the height in
// view; between them it is off by less than 1e-6 of the height for draws that move it by
// less than 5 % (TestWarpNodes).
func (s *Scale) Warp(setup, launch *rand.Rand, hold string) Warp {
	d := s.rest()
	s.draw(setup, launch, hold, d)
	return s.along(d).relativeTo(s.best, s.top)
}
