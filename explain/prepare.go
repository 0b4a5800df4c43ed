package explain

import (
	"fmt"
	"math"
	"slices"

	"padside/fault"
	"padside/motion"
	"padside/noise"
)

// prepare sets the problem up.
func prepare(in *Input) (*problem, error) {
	p := &problem{in: in}
	for _, u := range in.Unknowns {
		scale, positive := math.Min(u.prior(), (u.Most-u.Least)/10), u.Least > 0
		if positive {
			scale /= u.Start
		}
		p.scale, p.log = append(p.scale, scale), append(p.log, positive)
	}
	for i := range in.Launches {
		given := &in.Launches[i]
		l, err := newLaunch(given)
		if err != nil {
			return nil, fmt.Errorf("launch %d: %w", i+1, err)
		}
		name := given.Setup
		if name == "" {
			name = fmt.Sprintf("launch %d", i+1) // shares with none
		}
		at := slices.IndexFunc(p.setups, func(s *shared) bool { return s.name == name })
		if at < 0 {
			at = len(p.setups)
			p.setups = append(p.setups, share(name, given.Common, highest(in, given.Setup, i), in.Seed))
		}
		l.setup = p.setups[at]
		l.mean, l.parts = own(given.Common, highest(in, given.Setup, i), in.Seed)
		p.launches = append(p.launches, l)
	}
	p.layout()
	return p, nil
}

// highest is the greatest height seen in any launch of a setup, or in launch i where it has none.
func highest(in *Input, setup string, i int) float64 {
	top := 0.0
	for k := range in.Launches {
		if k == i || setup != "" && in.Launches[k].Setup == setup {
			for _, o := range in.Launches[k].Observations {
				top = math.Max(top, o.H)
			}
		}
	}
	return top
}

// restFrames is how many frames at rest are kept: more say no more than that it was at rest.
const restFrames = 60

// newLaunch takes over the observations from shortly before first motion on.
func newLaunch(given *Launch) (*launch, error) {
	obs := folded(given.Observations)
	move := leaves(obs)
	if move < 0 || len(obs)-move < fewestMoving {
		return nil, fault.NoAnswerf("film more of the flight, or at a higher rate", "%d frames show the vehicle moving; at least %d are needed to fit a flight", len(obs)-max(move, 0), fewestMoving)
	}
	l := &launch{restU: given.RestU, noise: [2]float64{1, 1}, alone: 1}
	var us, rest, steps []float64
	top := math.Inf(-1)
	for i := max(0, move-restFrames); i < len(obs); i++ {
		o := obs[i]
		l.t, l.h, l.u, l.frame = append(l.t, o.T), append(l.h, o.H), append(l.u, o.U), append(l.frame, o.Frame)
		top = math.Max(top, o.H)
		l.way, l.phase, l.doubtU = append(l.way, top), append(l.phase, o.Phase), append(l.doubtU, o.DoubtU)
		if o.Phase != (noise.Phase{}) {
			l.phaseU = given.PhaseU
		}
		l.stated = l.stated || i >= move && o.DoubtU > 0
		us = append(us, o.U)
		if i < move {
			rest = append(rest, o.H)
			l.rest++
		}
		if i > 0 {
			steps = append(steps, o.T-obs[i-1].T)
		}
	}
	still := noise.MeanPhase(l.phase[:l.rest])
	for i := range l.phase[:l.rest] {
		l.phase[i] = still
	}
	l.unit, l.step, l.level = middle(us), middle(steps), middle(rest)
	l.origin = obs[max(0, move-1)].T
	return l, nil
}

// folded takes the uncertainty of each time into that of the height: u^2 = U^2 + (v UT)^2, with the speed v between its neighbours.
func folded(obs []motion.Observation) []motion.Observation {
	out := slices.Clone(obs)
	for i := range out {
		a, b := obs[max(i-1, 0)], obs[min(i+1, len(obs)-1)]
		if out[i].UT > 0 && b.T > a.T {
			out[i].U = math.Hypot(out[i].U, (b.H-a.H)/(b.T-a.T)*out[i].UT)
		}
	}
	return out
}

// leaves returns the first frame from which on the height stays five uncertainties and more above the median of those before; -1 where it never
// does.
func leaves(obs []motion.Observation) int {
	const off = 5
	away := len(obs)
	for i := len(obs) - 1; i > 0; i-- {
		before := make([]float64, 0, i)
		for _, o := range obs[max(0, i-restFrames):i] {
			before = append(before, o.H)
		}
		if obs[i].H-middle(before) < off*obs[i].U {
			break
		}
		away = i
	}
	if away == len(obs) {
		return -1
	}
	return away
}

// middle is the median; 0 for none.
func middle(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	c := slices.Clone(x)
	slices.Sort(c)
	return (c[(len(c)-1)/2] + c[len(c)/2]) / 2
}

// begin returns first parameters: the unknowns as given, first motion where the flight with them fits best.
func (p *problem) begin() ([]float64, error) {
	x := make([]float64, p.n)
	for j, u := range p.in.Unknowns {
		x[j] = p.parameter(j, u.Start)
	}
	for i, l := range p.launches {
		if err := p.seek(i, l, x); err != nil {
			return nil, err
		}
	}
	return x, nil
}

// seek finds a launch's first motion by scanning: the model flown once is moved along the frames.
func (p *problem) seek(i int, l *launch, x []float64) error {
	end := l.t[len(l.t)-1]
	span := end - l.origin
	x[l.first+atMotion] = -span / l.step // flown for long enough
	f, err := p.fly(i, x)
	if err != nil {
		return err
	}
	best, where := math.Inf(1), 0.0
	const tries = 400
	for k := range tries + 1 {
		t0 := l.origin + span*(0.35-float64(k)/tries)
		sum := 0.0
		for n, t := range l.t {
			l.after[n] = t - t0
		}
		f.Track(l.after, l.height, nil)
		for n := range l.t {
			d := (l.h[n] - l.level - l.height[n]) / l.u[n]
			sum += math.Min(d*d, 1e12)
		}
		if sum < best {
			best, where = sum, t0
		}
	}
	x[l.first+atMotion] = (where - l.origin) / l.step
	return nil
}
