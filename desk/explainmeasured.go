package desk

import (
	"fmt"
	"math"

	"padside/explain"
	"padside/fault"
	"padside/metrology"
)

// Ids of answers that come from the measured motion and the masses, whether or not the model fits.
const (
	measuredImpulse = "measured_impulse"
	coastDragArea   = "coast_drag_area"
)

// MeasuredThrust is the motion as measured without the model, and the thrust that made it: mass times (acceleration + g) and drag, with mass and
// drag of the fitted flight at the same time. Time 0 is the fitted first motion. Standard uncertainties.
type MeasuredThrust struct {
	T             float64 `json:"t"`
	Height        float64 `json:"height"`
	Speed         float64 `json:"speed"`
	Acceleration  float64 `json:"acceleration"`
	Thrust        float64 `json:"thrust"`
	UHeight       float64 `json:"u_height"`
	USpeed        float64 `json:"u_speed"`
	UAcceleration float64 `json:"u_acceleration"`
	UThrust       float64 `json:"u_thrust"`
}

// measured gathers thrust, impulse and the coast's drag from the motion as measured.
func (s *ExplainSheet) measured(e *explained, res *explain.Result, lane *Lane) {
	in := e.inputs(0, res.Values)
	site, err := in.Site()
	if err != nil {
		return // it has flown: it cannot be
	}
	s.thrust(e, res, lane)
	s.impulse(s.endOfThrust(), in.Value["dry_mass"], massU(res))
	if area, ok := res.CoastDrag(0, res.Launches[0].Flight.Mass(math.Inf(1)), site.Gravity, site.Air.Density()); ok {
		if a, err := metrology.FromEstimate(metrology.Answer{ID: coastDragArea, Unit: "m2"}, area); err == nil {
			s.Answers = append(s.Answers, a)
		}
	}
}

// thrust is the motion as measured, and the thrust that it tells of.
func (s *ExplainSheet) thrust(e *explained, res *explain.Result, lane *Lane) {
	in := e.inputs(0, res.Values)
	site, err := in.Site()
	if err != nil {
		return
	}
	f := res.Launches[0].Flight
	half := 0.5 * site.Air.Density() * in.Value["drag_coefficient"] * frontal(in)
	for _, h := range lane.Motion.History {
		q := MeasuredThrust{T: h.T - s.FirstMotion, Height: h.Height, Speed: h.Speed, Acceleration: h.Acceleration,
			UHeight: h.UHeight, USpeed: h.USpeed, UAcceleration: h.UAcceleration}
		if q.T >= 0 {
			mass := f.Mass(q.T + f.FirstMotion)
			q.Thrust = mass*(h.Acceleration+site.Gravity) + half*h.Speed*math.Abs(h.Speed)
			q.UThrust = math.Hypot(mass*h.UAcceleration, 2*half*h.Speed*h.USpeed)
		}
		s.Measured = append(s.Measured, q)
	}
}

// endOfThrust is that of the fitted flight, s from first motion.
func (s *ExplainSheet) endOfThrust() float64 {
	for _, a := range s.Answers {
		if a.ID == "end_of_thrust_time" && a.Value != nil {
			return *a.Value
		}
	}
	return math.Inf(1)
}

// massU is the relative standard uncertainty of the dry mass.
func massU(res *explain.Result) float64 {
	for j, u := range res.Unknowns {
		if u.Key == "dry_mass" {
			return res.Fitted[j].U / res.Fitted[j].Value
		}
	}
	return 0
}

// impulse integrates the measured thrust from first motion until the end of thrust, or of the view where that is earlier. What errs is the
// speed gained, of the mass that gained it, and the mass: u^2 = (m u(v))^2 + (I u(m)/m)^2, with the mass at the end.
func (s *ExplainSheet) impulse(end, dry, relativeMass float64) {
	sum, last := 0.0, MeasuredThrust{}
	seen := false
	for _, q := range s.Measured {
		if q.T < 0 || q.T > end {
			continue
		}
		if seen {
			sum += (q.T - last.T) * (q.Thrust + last.Thrust) / 2
		} else {
			sum += q.T * q.Thrust // from first motion to the first frame after it
		}
		last, seen = q, true
	}
	if !seen || last.T < 0.2*end {
		return
	}
	mass := dry
	if a := last.Acceleration; a != 0 {
		mass = math.Max(dry, last.Thrust/(a+9.8))
	}
	u := math.Hypot(mass*last.USpeed, sum*relativeMass)
	if last.T < 0.98*end {
		s.Warnings = append(s.Warnings, fault.Warning{Code: "impulse-in-view", Message: fmt.Sprintf(
			"the view ends %.3g s after first motion, the thrust after %.3g s: the measured impulse is that of the part in view", last.T, end)})
	}
	if a, err := metrology.FromEstimate(metrology.Answer{ID: measuredImpulse, Unit: "N s"}, metrology.Estimate{Value: sum, U: u, Dof: math.Inf(1)}); err == nil {
		s.Answers = append(s.Answers, a)
	}
}
