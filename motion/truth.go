package motion

// Truth is one possible truth about the errors that all frames of a launch share: scale, distances, lean, the rate of the time base. Other packages
// that answer from the same places take it from here, so that draw i of their answers is under the same truth as draw i of the fitted motion's.
type Truth struct{ of truth }

// Truth draws it. What launches of one setup share depends on draw and SetupSeed alone; the source named by hold ("" for none) stays at its best value,
// and the others draw what they would have drawn anyway.
func (in *Input) Truth(draw int, hold string) Truth { return Truth{in.truth(draw, hold)} }

// Height is what the nominal height h (m) truly is, m.
func (t Truth) Height(h float64) float64 {
	y, _, _ := t.of.warp.At(h)
	return y
}

// Instant is when the traced point of an observation was truly filmed, s, counted as Observation.T is; the uncertainty of that frame's time alone
// is not in it.
func (t Truth) Instant(o *Observation) float64 {
	late, _, _ := t.of.delay.At(o.H)
	return (o.T + late) * t.of.clock
}

// SharedSources names the parts of the budget that Truth draws.
func (in *Input) SharedSources() []string {
	all := in.sources()
	return all[:len(all)-1]
}

// TraceNoise names, in budgets, what each place errs by itself.
const TraceNoise = traceNoise

// FewestMoving is the number of frames that must show the vehicle moving for a motion to be fitted.
const FewestMoving = fewestMoving

// FirstMoving is the index of the first observation that is plainly off the level of those before it (five standard uncertainties, as are the
// two after it), -1 where none is.
func (in *Input) FirstMoving() int { return firstOff(timesFolded(in.Observations)) }
