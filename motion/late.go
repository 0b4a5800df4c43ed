package motion

import (
	"math"
	"math/rand/v2"

	"padside/camera"
	"padside/timebase"
)

// Names of the parts of what is not known of a frame's exposure, in budgets.
const (
	SourceShutter  = "rolling shutter"
	SourceExposure = "exposure"
)

// Lateness is what is not known of when the places of a flight line were seen.
type Lateness struct {
	Doubt timebase.Doubt
	Line  camera.FlightLine
	Scale *camera.Scale
	Reach float64 // px up the line, farthest in view
	Told  []Skew  // what the vehicle's length tells of the shutter, beside the scale
}

// Skew is a delay for each px up the flight line, s/px, with its standard uncertainty.
type Skew struct{ K, U float64 }

// Common returns what all frames of a launch share: the errors of the scale, and the delays. The scale of
// a draw is that of its delay: what the vehicle looks longer by for the shutter is none of its distance.
func (l Lateness) Common(rateU float64) Common {
	c := Common{Sources: l.Scale.Sources(), Warp: l.Scale.Warp, RateU: rateU}
	k, u, seen := l.Scale.SkewSeen()
	if seen && u > 0 {
		l.Told = append(l.Told[:len(l.Told):len(l.Told)], Skew{k, u})
	}
	reader := l.reader()
	if reader != nil {
		c.DelaySources = append(c.DelaySources, SourceShutter)
	}
	if l.Doubt.Longest > l.Doubt.Least {
		c.DelaySources = append(c.DelaySources, SourceExposure)
	}
	if len(c.DelaySources) == 0 {
		return c
	}
	a, b := l.ways()
	c.Delay = func(setup *rand.Rand, hold string) Delay {
		d, q := reader.Draw(setup), setup.Float64()
		if hold == SourceShutter {
			d = reader.Mean()
		}
		if hold == SourceExposure {
			q = 0.5
		}
		return l.delay(reader != nil, d, q, a, b)
	}
	if seen {
		counted := l.Doubt.Counted.X*l.Line.Ux + l.Doubt.Counted.Y*l.Line.Uy
		c.WarpAt = func(d Delay, setup, launch *rand.Rand, hold string) camera.Warp {
			return l.Scale.At(counted+d.T1/a).Warp(setup, launch, hold)
		}
	}
	return c
}

// delay is that along the line of one delay of the rows, if they roll, and one share q of the
// exposures possible.
func (l *Lateness) delay(rolls bool, d timebase.Delay, q, a, b float64) Delay {
	counted := l.Doubt.Counted
	if !rolls {
		d = counted
	}
	x, y := d.X-counted.X, d.Y-counted.Y
	per := x*l.Line.Ux + y*l.Line.Uy // s for each px along the line
	at := d.Start - counted.Start + x*l.Line.Rest.X + y*l.Line.Rest.Y + l.Doubt.Offset(q)
	return Delay{T0: at, T1: per * a, T2: per * b}
}

// ways turns heights into px along the line: s(h) = a h + b h^2, exact at rest, at half of the reach and
// at all of it.
func (l *Lateness) ways() (a, b float64) {
	h1, h2 := l.Scale.Height(l.Reach/2), l.Scale.Height(l.Reach)
	b = (l.Reach/h2 - l.Reach/2/h1) / (h2 - h1)
	return l.Reach/h2 - b*h2, b
}

// reader draws the delay of the pictures' rows from the prior and from what is told of it. What is told
// and impossible tells of something else.
func (l *Lateness) reader() *timebase.Reader {
	prior := timebase.NewReader(l.Doubt.Scans, nil)
	if len(l.Told) == 0 {
		return prior
	}
	told := timebase.NewReader(l.Doubt.Scans, func(d timebase.Delay) float64 {
		k, p := d.X*l.Line.Ux+d.Y*l.Line.Uy, 0.0
		for _, t := range l.Told {
			z := (k - t.K) / t.U
			p -= z * z / 2
		}
		return math.Exp(p)
	})
	if told == nil {
		return prior
	}
	return told
}
