package noise

// Hypothesis is one way in which the errors of neighbouring frames in flight may be correlated:
// the standard deviation of the process, over what is stated of it, its length over the flight's
// time or, if Way, over the height in view, and how probable all this is beforehand. What errs with
// time is how the vehicle's picture changes; with the way, what lies behind it, and the lens.
type Hypothesis struct {
	Size, Length float64
	Way, Rough   bool // Rough: Matern's covariance of order 1/2, else of order 3/2; see Step
	Prior        float64
}

// Sizes over what is stated, lengths over the flight, and their odds. The process is there where a
// trace states it: a second reference or a second start shows it. A comparison with one other
// reference tells its size within about a factor of two (1 sd). The longest process lasts for the
// flight: the flight itself can look like that, so that no residual tells its size and odds are all
// there is. Where nothing is stated, the odds are nine to one that there is none, and the sizes are
// those of a process of UnstatedSize times the noise, half-Cauchy (Gelman, Bayesian Anal. 1 (2006)
// 515).
var (
	sizes        = [...]float64{1, 0.5, 2, 0.25, 4}
	statedOdds   = [...]float64{0.4, 0.25, 0.25, 0.05, 0.05}
	unstatedOdds = [...]float64{0.028, 0.022, 0.022, 0.013, 0.013}
	lengths      = [...]float64{1. / 10, 1. / 30, 1. / 3, 1}
)

// UnstatedSize is the standard deviation of a process of size 1 where nothing is stated of it, over
// the noise of a frame.
const UnstatedSize = 0.5

// unstatedLengths is how many of the lengths are asked for where nothing is stated: residuals show
// nothing of the longest, and there is no reason to take it for real.
const unstatedLengths = 3

// Hypotheses lists what is asked, with prior probabilities that add up to 1. Where nothing is
// stated the first is that there is no correlation, of size 0; else it is a usual one, which stands
// for all where only one can be asked.
func Hypotheses(stated bool) []Hypothesis {
	var list []Hypothesis
	odds, long := statedOdds, lengths[:]
	if !stated {
		odds, long = unstatedOdds, lengths[:unstatedLengths]
		none := Hypothesis{Prior: 1}
		for _, p := range odds {
			none.Prior -= p
		}
		list = append(list, none)
	}
	for i, size := range sizes {
		for _, length := range long {
			for kind := range 4 {
				list = append(list, Hypothesis{Size: size, Length: length, Way: kind&1 > 0, Rough: kind&2 > 0,
					Prior: odds[i] / float64(4*len(long))})
			}
		}
	}
	return list
}
