package timebase

import (
	"math/big"

	"padside/fault"
)

// Stretch is a run of frames filmed at one rate, up to where the next begins.
type Stretch struct {
	From int      // first frame
	Hz   *big.Rat // true capture rate, exact
}

// NewStretches makes the base of footage whose capture rate changes on the way, as slow motion in
// the middle of a clip does: the step from frame i to the next is 1/Hz of the stretch that holds
// frame i. The first stretch begins with frame 0, and there are frames frames.
func NewStretches(list []Stretch, frames int, o Options) (*Base, error) {
	if len(list) == 0 || list[0].From != 0 {
		return nil, fault.Requestf("begin the first stretch with frame 0", "no stretch begins with frame 0")
	}
	stamps, at, k := make([]*big.Rat, frames), new(big.Rat), 0
	for i := range stamps {
		stamps[i] = new(big.Rat).Set(at)
		if k+1 < len(list) && list[k+1].From <= i {
			k++
		}
		if list[k].Hz == nil || list[k].Hz.Sign() <= 0 {
			return nil, fault.Requestf("give the true capture rate of each stretch", "the rate of stretch %d is not positive", k+1)
		}
		at.Add(at, new(big.Rat).Inv(list[k].Hz))
	}
	if last := list[len(list)-1].From; last >= frames {
		return nil, fault.Requestf("leave out the stretches beyond the footage", "a stretch begins with frame %d of %d", last, frames)
	}
	if o.RateU == 0 {
		o.RateU = DefaultRateU
	}
	b, err := NewStamps(List, stamps, o)
	if err != nil {
		return nil, err
	}
	return b, nil
}
