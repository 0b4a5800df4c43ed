package motion

import (
	"math"
	"sort"
)

// series is one lane's observations in the units in which everything is computed: times
// and heights divided by unitT and unitH, so that the matrices are of order one.
type series struct {
	t, y, w      []float64 // time, height, precision (1/variance) of each frame
	unitT, unitH float64
	origin       float64 // s, the time that is zero here: the first frame's
	level        float64 // m, the height that is zero here: the first frame's

	sumW, sumY    []float64 // over the frames before index i: of w, w y
	sumYY, sumLog float64   // over all frames: of w y y, ln w
	shares                  // errors that many frames share

	even       evenClock // what all times may be off by
	sway       *sway     // how the vehicle sways at rest; nil where it is still
	lastFlying int       // the last frame before a landing that may be one; 0 for none

	move   int       // first frame that is plainly off the rest level
	accel  float64   // mean acceleration in view, scaled
	atOnce float64   // ln of the odds that thrust is there at once, not built up; see kind.go
	pull   float64   // m/s2, the peak acceleration of the plainest fit
	liven  []float64 // factor on the walk's strength from each knot to the next
	growth []float64 // factor on the jerk from each knot to the next
	knots  []float64 // see layKnots
	blocks []block

	step float64 // typical time between frames, scaled
	span float64 // from the last frame plainly at rest to the last frame, scaled
}

// offRest is how many standard uncertainties from the rest level count as plainly off it.
const offRest = 5

// newSeries scales the observations of a lane. It returns nil where nothing leaves rest.
func newSeries(obs []Observation, in *Input) *series {
	n := len(obs)
	s := &series{t: make([]float64, n), y: make([]float64, n), w: make([]float64, n), unitH: medianU(obs), origin: obs[0].T, even: in.even}
	steps := make([]float64, 0, n)
	for i := 1; i < n; i++ {
		steps = append(steps, obs[i].T-obs[i-1].T)
	}
	step := median(steps)
	if s.sway = in.sway; s.sway != nil {
		s.move = min(s.sway.move, n-1)
	} else if s.move = firstOff(doubtsFolded(obs)); s.move < 0 {
		return nil
	}
	if end := landing(obs); end < n {
		s.lastFlying = end - 1
	}
	rest := max(s.move-1, 0)
	span := obs[n-1].T - obs[rest].T
	s.unitT = math.Sqrt(step * span)
	s.step, s.span = step/s.unitT, span/s.unitT
	for i, o := range obs {
		s.t[i] = (o.T - s.origin) / s.unitT
		s.y[i] = (o.H - obs[0].H) / s.unitH
	}
	s.level = obs[0].H
	s.accel = 2 * math.Abs(s.y[n-1]-s.y[rest]) / (s.span * s.span)
	if s.sway != nil {
		s.weigh(phasesFolded(obs, in.PhaseU))
		s.weighShares(obs, 0, 0)
	} else {
		s.weigh(obs)
		s.weighShares(obs, in.PhaseU, in.RestU)
	}
	s.layKnots()
	s.drift = newDrifting(s)
	s.liven, s.growth = make([]float64, len(s.knots)), make([]float64, len(s.knots))
	for i := range s.liven {
		s.liven[i], s.growth[i] = 1, 1
	}
	return s
}

// seconds turns a scaled time into the observations' own.
func (s *series) seconds(t float64) float64 { return s.origin + t*s.unitT }

// weigh sets the precision of each frame and the sums.
func (s *series) weigh(obs []Observation) {
	n := len(obs)
	s.sumW, s.sumY = make([]float64, n+1), make([]float64, n+1)
	for i, o := range obs {
		w, y := s.unitH*s.unitH/(o.U*o.U), s.y[i]
		s.w[i] = w
		s.sumW[i+1] = s.sumW[i] + w
		s.sumY[i+1] = s.sumY[i] + w*y
		s.sumYY += w * y * y
		s.sumLog += math.Log(w)
	}
}

// timesFolded returns the observations with the uncertainty of each time, UT, taken into that of the
// height: u^2 = U^2 + (v UT)^2 with the speed v between its neighbours.
func timesFolded(obs []Observation) []Observation {
	out := append([]Observation(nil), obs...)
	for i := range out {
		if o := &out[i]; o.UT > 0 {
			a, b := obs[max(i-1, 0)], obs[min(i+1, len(obs)-1)]
			v := 0.0
			if b.T > a.T {
				v = (b.H - a.H) / (b.T - a.T)
			}
			o.U, o.UT = math.Hypot(o.U, v*o.UT), 0
		}
	}
	return out
}

// firstOff returns the first frame from which on the height stays plainly off the level of
// the frames before it, or -1. With no frame at rest it returns 0.
func firstOff(obs []Observation) int {
	n := len(obs)
	var sw, sy float64
	for i, o := range obs {
		if i > 0 {
			level, u := sy/sw, math.Sqrt(1/sw+o.U*o.U)
			if math.Abs(o.H-level) > offRest*u && staysOff(obs[i:min(i+3, n)], level) {
				return i
			}
		}
		w := 1 / (o.U * o.U)
		sw += w
		sy += w * o.H
	}
	return -1
}

func staysOff(obs []Observation, level float64) bool {
	side := obs[0].H > level
	for _, o := range obs {
		if (o.H > level) != side || math.Abs(o.H-level) < offRest*o.U {
			return false
		}
	}
	return true
}

func medianU(obs []Observation) float64 {
	u := make([]float64, len(obs))
	for i, o := range obs {
		u[i] = o.U
	}
	return median(u)
}

// median returns the middle value; 0 for none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	c := append([]float64(nil), x...)
	sort.Float64s(c)
	if n := len(c); n%2 == 0 {
		return (c[n/2-1] + c[n/2]) / 2
	}
	return c[len(c)/2]
}

// How the walk's strength goes with the acceleration of a first fit: thrust wanders in
// proportion to itself, and the acceleration of a vehicle that loses its mass grows ever
// faster. The factor is held between bounds.
const (
	livenPower  = 4.0
	livenLowest = 0.5 // of the acceleration relative to its mean
	livenMost   = 4.0
)

// enliven sets the factors from the mean path of a first fit.
func (s *series) enliven(mean *path) {
	for i := range len(s.knots) - 1 {
		a := s.accelIn(mean.at(s.seconds(0.5*(s.knots[i]+s.knots[i+1]))).a) / s.accel
		a = math.Min(math.Max(math.Abs(a), livenLowest), livenMost)
		s.liven[i] = math.Pow(a, livenPower)
		s.growth[i] = math.Exp(s.trend(mean, s.knots[i]) * (s.knots[i+1] - s.knots[i]))
	}
}

// How the jerk goes on. The acceleration of a vehicle that loses its mass grows as 1/(time left), and its jerk at twice the rate of that; the
// acceleration that the last air gives dies away exponentially, and its jerk at the same rate. So the jerk is expected to grow
// at lighter or decay at fading times the relative rate at which the acceleration changes, as the first fit shows it over stretches
// of trendShare of the view. The rates of two neighbouring stretches lie one and two stretches back: where the later is the larger it goes on as that of
// 1/(time left)^p does, whose inverse is a straight line, but at most doubles. Else the smaller counts, none where they differ in sign.
const (
	lighter    = 2.5
	fading     = 1.3
	trendShare = 0.07
	trendMost  = 0.7 // of the rate, times a stretch
)

// trend returns the relative rate of change of the jerk at time t, scaled.
func (s *series) trend(mean *path, t float64) float64 {
	w := trendShare * s.span
	gain := func(k float64) float64 { // of speed in the k-th stretch back from t
		return mean.at(s.seconds(t-k*w)).v - mean.at(s.seconds(t-(k+1)*w)).v
	}
	if s.seconds(t-3*w) < mean.t0 {
		return 0
	}
	a, b, c := gain(0), gain(1), gain(2)
	now, before := 2*(a-b)/(a+b), 2*(b-c)/(b+c)
	if !(a > 0 && b > 0 && c > 0) || now*before <= 0 {
		return 0
	}
	if now > 0 {
		r := now
		if now > before {
			r /= math.Max(2-now/before, 0.5)
		}
		return lighter * math.Min(r, trendMost) / w
	}
	r := math.Max(math.Max(now, before), -trendMost)
	// thrust that falls along a straight line has the same jerk all the time
	return math.Max(fading*r, math.Min(0, math.Log((b-a)/(c-b)))) / w
}
