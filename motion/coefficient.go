package motion

import (
	"math"
	"math/rand/v2"
)

// The prior of the acceleration at first motion (of a step), or once thrust is built up, relative
// to the mean in view: a sum of normal densities at these means, cut at zero, that is nearly flat in the
// logarithm over two decades and vanishes below.
var coefficientMeans = [...]float64{0.1, 0.25, 0.63, 1.6, 4}

// Thrust that builds up would, at the rate at which it begins, come to a part of a motor's first
// peak only: it begins with a foot, as the propellant catches, a tenth to a quarter of the thrust
// high, on which a light rocket creeps off (common practice, no source). What is let go at once may
// be anything: ln of the parts' shares.
var (
	stepShares    = logShares(1, 1, 1, 1, 1)
	buildUpShares = logShares(0.2, 0.25, 0.3, 0.2, 0.05)
	// From rest that sways a slow start cannot be told from a last sway: it is one.
	swayShares        = logShares(1e-6, 1e-6, 1, 1, 1)
	swayBuildUpShares = logShares(1e-6, 1e-6, 0.55, 0.36, 0.09)
)

// coefficientShares are those of the parts.
func (p *params) coefficientShares() *[len(coefficientMeans)]float64 {
	switch swaying := p.series.sway != nil; {
	case p.shape.buildUp() && swaying:
		return &swayBuildUpShares
	case p.shape.buildUp():
		return &buildUpShares
	case swaying:
		return &swayShares
	}
	return &stepShares
}

func logShares(share ...float64) (l [len(coefficientMeans)]float64) {
	var sum float64
	for _, x := range share {
		sum += x
	}
	for i, x := range share {
		l[i] = math.Log(x / sum)
	}
	return l
}

// coefficientSpread is the standard deviation of each part relative to its mean.
const coefficientSpread = 0.45

// logWeight integrates the coefficient out of an onset, over its prior. shares[i] is the share of
// part i.
func (p *params) logWeight(o *onset) (l float64, shares [len(coefficientMeans)]float64) {
	if p.shape.underWay() { // it has none
		return o.c, shares
	}
	unit, prior := p.series.accel, p.coefficientShares()
	if p.shape.buildUp() {
		unit /= o.fullIn
	}
	// the integral over part i is shares[i] exp(half[i]) Phi(z[i])
	var z, half [len(coefficientMeans)]float64
	most := math.Inf(-1)
	const w0 = 1 / (coefficientSpread * coefficientSpread) // precision times mean squared
	for i, r := range coefficientMeans {
		mean := unit * r
		w := w0 / (mean * mean)
		root := 1 / math.Sqrt(o.m+w)
		z[i] = (o.n + w*mean) * root
		half[i] = 0.5*z[i]*z[i] - 0.5*w0 + prior[i]
		shares[i] = root / (coefficientSpread * mean)
		top := half[i]
		if z[i] <= -8 {
			top = -0.5*w0 + prior[i]
		}
		most = max(most, top)
	}
	sum := 0.0
	for i, x := range z {
		switch below := half[i] - most; {
		case below < -40 && x > -8:
			shares[i] = 0
		case x > 6: // Phi is one to nine digits
			shares[i] *= math.Exp(below)
		case x > -8:
			shares[i] *= math.Exp(below) * 0.5 * math.Erfc(-x/math.Sqrt2)
		default:
			shares[i] *= math.Exp(below-0.5*x*x) * tail(-x)
		}
		sum += shares[i]
	}
	for i := range shares {
		shares[i] /= sum
	}
	return o.c + most + math.Log(sum), shares
}

// tail returns exp(x^2/2) Phi(-x) for large x: the asymptotic series (Abramowitz & Stegun
// 26.2.12, from memory), relative error below 1e-4 from x = 8 on.
func tail(x float64) float64 {
	q := 1 / (x * x)
	return (1 - q*(1-3*q)) / (x * math.Sqrt(2*math.Pi))
}

// coefficient draws the launch coefficient: a scale of the prior, then a normal cut at zero.
func (m *simulator) coefficient(o *onset, r *rand.Rand) float64 {
	if m.q.shape.underWay() {
		return 0
	}
	_, shares := m.q.logWeight(o)
	pick, x := 0, 0.5
	if r != nil {
		x = r.Float64()
	}
	for i, share := range shares {
		pick = i
		if x -= share; x < 0 {
			break
		}
	}
	mean := m.p.s.accel * coefficientMeans[pick]
	if m.q.shape.buildUp() {
		mean /= o.fullIn
	}
	w := 1 / (coefficientSpread * coefficientSpread * mean * mean)
	v := o.m + w
	mu, sd := (o.n+w*mean)/v, 1/math.Sqrt(v)
	if r == nil {
		return math.Max(mu, 0)
	}
	return positiveNormal(mu, sd, r)
}

// positiveNormal draws from a normal distribution cut at zero: by rejection where most of
// it is positive, else from an exponential envelope (Robert, Statistics and Computing
// 5:121, 1995, from memory).
func positiveNormal(mu, sd float64, r *rand.Rand) float64 {
	low := -mu / sd
	if low < 0.5 {
		for {
			if z := r.NormFloat64(); z >= low {
				return mu + sd*z
			}
		}
	}
	rate := 0.5 * (low + math.Sqrt(low*low+4))
	for {
		z := low + r.ExpFloat64()/rate
		if math.Log(1-r.Float64()) <= -0.5*(z-rate)*(z-rate) {
			return mu + sd*z
		}
	}
}
