package explain

import (
	"fmt"
	"math"

	"padside/flight"
	"padside/motion"
)

// Unknown is a quantity of the model that is fitted, SI.
type Unknown struct {
	Key   string
	Start float64 // first guess; where U is stated, what it is beforehand
	U     float64 // standard uncertainty beforehand; 0: the footage alone decides
	// What is possible. An unknown that the footage alone decides is allowed all of it alike; any other is cut to it.
	Least, Most float64
	Launch      int // whose it is, from 1; 0: of all launches
}

// prior is the standard uncertainty of the pseudo-observation of an unknown: as stated, or as wide as what is possible, so that an unknown that the
// footage says nothing of does not run away.
func (u *Unknown) prior() float64 {
	if u.U > 0 {
		return u.U
	}
	return u.Most - u.Least
}

// flat is the standard deviation of an unknown of which nothing is known but what is possible.
func (u *Unknown) flat() float64 { return (u.Most - u.Least) / math.Sqrt(12) }

// Model flies a launch, numbered from 0, with values of the unknowns, and follows it until some seconds after ignition or release at
// least.
type Model func(launch int, values []float64, until float64) (*flight.Flight, error)

// Launch is what was measured of one launch.
type Launch struct {
	Observations []motion.Observation // in order of time, those at rest included
	Setup        string               // launches with the same setup share their common errors
	Common       motion.Common
	// RestU is the standard uncertainty, m, of an error that all frames at rest share; PhaseU of either amplitude of that between pixels (see
	// noise.Phase).
	RestU, PhaseU float64
}

// Input is what to fit to what.
type Input struct {
	Launches []Launch
	Unknowns []Unknown
	Model    Model
	Seed     uint64
	Progress func(done, total int) // may be nil
	// Say writes a value of an unknown as its owner would, with its unit; nil: the number in SI.
	Say func(key string, value float64) string
}

func (in *Input) say(key string, value float64) string {
	if in.Say == nil {
		return fmt.Sprintf("%.4g", value)
	}
	return in.Say(key, value)
}

// fewestMoving is how many frames must show a launch in motion.
const fewestMoving = 6

func (in *Input) check() error {
	if len(in.Launches) == 0 || len(in.Unknowns) == 0 {
		return fmt.Errorf("explain: %d launches and %d unknowns leave nothing to fit", len(in.Launches), len(in.Unknowns))
	}
	for _, u := range in.Unknowns {
		if !(u.Least < u.Most && u.Start >= u.Least && u.Start <= u.Most && u.U >= 0 && !math.IsInf(u.U, 0)) {
			return fmt.Errorf("explain: the unknown %s begins at %g, where %g to %g is possible", u.Key, u.Start, u.Least, u.Most)
		}
	}
	for i := range in.Launches {
		last := math.Inf(-1)
		for _, o := range in.Launches[i].Observations {
			if !(o.U > 0 && o.T > last) || math.IsNaN(o.H) || math.IsInf(o.H, 0) || math.IsInf(o.U, 0) {
				return fmt.Errorf("explain: launch %d: the observation of frame %d does not fit (%g s, %g m, uncertainty %g m)", i+1, o.Frame, o.T, o.H, o.U)
			}
			last = o.T
		}
	}
	return nil
}
