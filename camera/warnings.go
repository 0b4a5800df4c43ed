package camera

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"padside/fault"
	"padside/metrology"
)

// weakScale is the relative half width of the 95 % interval at which a short reference is
// said to mean little.
const weakScale = 0.05

// leanRules is how much narrower heights become without the lean, at which it is the chief source.
const leanRules = 0.7

// farBeyond is how far beyond the marks, relative to their extent, heights count as extrapolated.
const farBeyond = 0.05

// warnings says what the scale rests on that the user may not know.
func (s *Scale) warnings() (list []fault.Warning) {
	add := func(code, format string, args ...any) {
		list = append(list, fault.Warning{Code: code, Message: fmt.Sprintf(format, args...)})
	}
	if s.ranges.allowance > 0 {
		add("scale-range-assumed", "reference and flight line are taken to be equally far from the camera to within %.0f %%, which every height and speed inherits; measure both distances and give rod_range and flight_range",
			100*s.ranges.allowance)
	}
	if what := s.assumed(); what != "" {
		add("scale-uncertainty-assumed", "%s; write them as 8.15(5) m, 7(1) deg; 8.15(0) m is exact", what)
	}
	whole := s.halfWidth("")
	if code, what := s.leanWarning(whole); code != "" {
		add(code, "%s", what)
	}
	if l, ok := s.ref.(*length); ok {
		add("scale-single-length", "the scale hangs on one length of %.4g m that spans %.0f px of the picture; heights are good to %s", l.value, l.pixels(), percent(whole))
	}
	if beyond, extent, marks := s.beyond(); beyond > farBeyond*extent {
		add("scale-extrapolated", "the flight is seen to %.3g m, %.3g m beyond the %s; the height there is good to %s; a longer reference, marked over the whole view, narrows it",
			s.top, beyond, marks, percent(whole))
	}
	if own := s.ownHalfWidth(); own > weakScale {
		add("scale-weak", "the reference is too short or too roughly marked to mean much: by itself it leaves heights uncertain by %s; use a longer one, or place its marks more closely", percent(own))
	}
	return list
}

// leanWarning says what is taken for a lean that is not stated: what the vehicle's length tells of it, or, where it makes up most of the
// heights' half width, the default.
func (s *Scale) leanWarning(whole float64) (code, message string) {
	rules := !s.leanGiven && s.uses(sourceLean) && s.halfWidth(sourceLean) < leanRules*whole
	most := fmt.Sprintf("that makes up most of the heights' uncertainty of %s", percent(whole))
	if what := s.leanSeen(); what != "" {
		then := "a second view, or a rail held upright, would check it"
		if rules {
			then = most + "; a second view, or a rail held upright, tells more"
		}
		return "scale-lean-seen", fmt.Sprintf("no lean is stated: how the vehicle's length in the picture changes along the flight makes it %s (one standard uncertainty); %s", what, then)
	}
	if !rules {
		return "", ""
	}
	seen := ""
	if s.seenLean > defaultLeanU {
		seen = fmt.Sprintf("; it is seen to lean by %.0f degrees within the picture", s.seenLean*180/math.Pi)
	}
	return "scale-lean-assumed", fmt.Sprintf("no lean is stated: the flight is taken to lean by 0 degrees towards or away from the camera, give or take %.2g (one standard uncertainty)%s; %s: state lean, from a second view or a rail, or film from farther away",
		s.spec.Lean.U*180/math.Pi, seen, most)
}

// assumed names the stated quantities whose uncertainty had to be assumed.
func (s *Scale) assumed() string {
	silent := func(m Measured) bool { return m.Given && m.U == 0 && !m.Exact }
	var list []string
	add := func(m Measured, what, how string) {
		if silent(m) {
			list = append(list, fmt.Sprintf("%s has no stated uncertainty: %s assumed (one standard uncertainty)", what, how))
		}
	}
	if _, ok := s.ref.(*length); ok {
		add(s.spec.Length, "length", percent(assumedLengthU))
	}
	if s.ranges.given {
		add(s.spec.RodRange, "rod_range", percent(assumedRangeU))
		add(s.spec.FlightRange, "flight_range", percent(assumedRangeU))
	}
	degrees := fmt.Sprintf("±%.2g degrees", assumedTiltU*180/math.Pi)
	if s.leanSilent {
		list = append(list, "lean has no stated uncertainty: "+degrees+" assumed (one standard uncertainty)")
	}
	if s.uses(sourceTilt) {
		add(s.spec.Lens.Tilt, "tilt", degrees)
	}
	if s.uses(sourceLens) && s.spec.Lens.PixelPitch.Given {
		add(s.spec.Lens.FocalLength, "focal_length", percent(assumedFocalU))
	}
	return strings.Join(list, "; ")
}

// uses says whether a source changes heights.
func (s *Scale) uses(source string) bool { return slices.Contains(s.sources, source) }

// beyond returns how far the flight is seen beyond the marks, their extent (both m, or px
// for a plane turned into m at the best scale), and their name.
func (s *Scale) beyond() (beyond, extent float64, marks string) {
	switch r := s.ref.(type) {
	case *rod:
		k := s.ranges.ratio
		return max(s.top-r.high*k, r.low*k), (r.high - r.low) * k, "marks of the rod"
	case *plane:
		low, high := s.best.at(r.span[0]), s.best.at(min(r.span[1], s.reach))
		return max(s.top-high, low), high - low, "points of the plane"
	}
	return 0, 1, ""
}

// intervalDraws is how many draws an interval in a warning is taken from.
const intervalDraws = 500

// halfWidth is half the shortest 95 % interval of the height at reach, relative to it, with
// one source held. The draws are seeded alike every time.
func (s *Scale) halfWidth(hold string) float64 {
	return s.interval(func(d *draws, r *rand.Rand) { s.draw(r, r, hold, d) })
}

// HalfWidth is half the 95 % interval of the height at the far end of the view, relative to it.
func (s *Scale) HalfWidth() float64 { return s.halfWidth("") }

// ownHalfWidth is the same with the marks alone in doubt.
func (s *Scale) ownHalfWidth() float64 {
	return s.interval(func(d *draws, r *rand.Rand) {
		s.draw(r, r, "", d)
		*d = draws{marks: d.marks, spread: d.spread} // nothing else in doubt
	})
}

func (s *Scale) interval(fill func(d *draws, r *rand.Rand)) float64 {
	r := rand.New(rand.NewPCG(0x7363616c65, 1))
	heights := make([]float64, intervalDraws)
	d := s.rest()
	for i := range heights {
		fill(d, r)
		heights[i] = s.along(d).at(s.reach) / s.top
	}
	iv, err := metrology.ShortestInterval(heights, 0.95)
	if err != nil {
		return math.Inf(1)
	}
	return iv.Width() / 2
}

// percent writes a fraction with two digits.
func percent(v float64) string {
	if v >= 1 {
		return "more than ±100 %"
	}
	return fmt.Sprintf("±%.2g %%", 100*v)
}
