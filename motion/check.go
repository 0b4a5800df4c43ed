package motion

import (
	"math"

	"padside/fault"
)

// check refuses input that cannot be a motion. Heights may be any finite number; times must
// increase, uncertainties be positive.
func check(in *Input) error {
	obs := in.Observations
	if len(obs) == 0 {
		return fault.NoAnswerf("follow the vehicle in at least five frames", "lane %d: there is no frame in which the vehicle was found", in.Lane)
	}
	for i, o := range obs {
		for _, x := range [...]float64{o.T, o.H, o.U, o.UT} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return fault.Requestf("check the trace and the scale of this frame", "lane %d, frame %d: time, height or uncertainty is not a number", in.Lane, o.Frame)
			}
		}
		if o.U <= 0 || o.UT < 0 {
			return fault.Requestf("give every height an uncertainty above zero", "lane %d, frame %d: the uncertainty %g m of the height does not fit", in.Lane, o.Frame, o.U)
		}
		if i > 0 && o.T <= obs[i-1].T {
			return fault.Requestf("frames must be in order of time: check the time base",
				"lane %d, frame %d: its time %g s is not after that of frame %d, %g s", in.Lane, o.Frame, o.T, obs[i-1].Frame, obs[i-1].T)
		}
	}
	q := in.Questions
	for _, list := range [...][]float64{q.Speeds, q.Gates} {
		for i, x := range list {
			if !(x > 0) || math.IsInf(x, 0) || i > 0 && x <= list[i-1] {
				return fault.Requestf("speeds and gates must be above zero and increase", "question %g does not fit", x)
			}
		}
	}
	if q.Window < 0 || math.IsNaN(q.Window) || math.IsInf(q.Window, 0) {
		return fault.Requestf("give a stretch of time above zero, or leave it out", "the window %g s of peak acceleration does not fit", q.Window)
	}
	if r := in.Common.RateU; r < 0 || r > 0.5 || math.IsNaN(r) {
		return fault.Requestf("give the capture rate with an uncertainty below 50 %", "the relative uncertainty %g of the time base does not fit", r)
	}
	return nil
}
