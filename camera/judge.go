package camera

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"padside/fault"
)

// scatters says whether a sum of squares of so many degrees of freedom is larger than chance
// allows in one of twenty.
func scatters(chi2 float64, dof int) bool {
	return dof > 0 && chi2 > distuv.ChiSquared{K: float64(dof)}.Quantile(0.95)
}

// coarse is how far, px rms, marks stated as exact may lie from a rod's scale: they are written
// with a digit behind the point.
const coarse = 0.05

// exactly looks at marks that are all stated as exact. Where they contradict each other they
// are given the uncertainty that their residuals show.
func (r *rod) exactly(marks []sighting) []fault.Warning {
	dof := len(marks) - 3
	var sum float64
	for i, m := range marks {
		if m.u > 0 || m.uh > 0 {
			return nil
		}
		sum += r.list[i].Along * r.list[i].Along
	}
	if dof <= 0 || sum <= coarse*coarse*float64(dof) {
		return nil
	}
	u := math.Sqrt(sum / float64(dof))
	for i := range marks {
		marks[i].u = u
	}
	return []fault.Warning{{Code: "scale-marks-scatter",
		Message: fmt.Sprintf("the marks are stated to be exact, but lie %.2g px off a straight rod's scale: that is taken as their uncertainty", u)}}
}

// judge says what the marks leave unchecked and where they contradict what is stated.
func (r *rod) judge(marks []sighting, v view) (notes []fault.Warning) {
	add := func(code, format string, args ...any) {
		notes = append(notes, fault.Warning{Code: code, Message: fmt.Sprintf(format, args...)})
	}
	dof := len(marks) - 3
	switch {
	case len(marks) == 2:
		how := fmt.Sprintf("the camera is taken to be level to within %.0f degrees: mark a third height, or give the camera's tilt", levelU*180/math.Pi)
		if !r.known.assumed {
			how = "it is computed from what is stated of tilt and widths: mark a third height to check it"
		}
		add("scale-two-marks", "two marks show neither the perspective nor a slip of the hand; %s", how)
	case dof == 0 && r.checked < 0.5:
		add("scale-marks-unchecked", "three marks show the perspective but no slip of the hand: a fourth would")
	case scatters(r.chi2, dof):
		worst := slices.MaxFunc(r.list, func(a, b MarkResidual) int { return cmp.Compare(math.Abs(a.Along), math.Abs(b.Along)) })
		add("scale-marks-scatter", "the marks lie %.1f times as far from a straight rod's scale as their stated uncertainty allows; it is taken as %.2g times what is stated; mark %d is the farthest off, by %.1f px: check it",
			math.Sqrt(r.chi2/float64(dof)), r.noise.best, worst.Index+1, math.Abs(worst.Along))
	}
	if c, u := r.marksAlone(); v.tiltGiven && math.Abs(c-r.known.c) > 3*math.Hypot(u, r.known.u) {
		add("scale-tilt-contradicted", "the marks show another perspective than the stated tilt and lens cause, by %.1f times what both leave in doubt: check tilt, focal_length, pixel_pitch and the marks",
			math.Abs(c-r.known.c)/math.Hypot(u, r.known.u))
	}
	var across, largest float64
	for i, q := range r.list {
		across, largest = max(across, math.Abs(q.Across)), max(largest, marks[i].u)
	}
	if across > max(5*largest, 0.02*2*r.ts) {
		add("scale-rod-crooked", "the marks are up to %.1f px off the straight line through them; the scale takes the rod as straight: check the marks, or give the lens's k1", across)
	}
	return notes
}
