package footage

import (
	"fmt"
	"math"
	"math/big"
)

// timeStills sets stamps and exposure from the stills' tags. Stamps are set where every still has a time.
func (i *Info) timeStills(tags []exif) {
	i.exposeStills(tags)
	timed, zoned := 0, 0
	for _, t := range tags {
		if t.time != nil {
			timed++
		}
		if t.offset != nil {
			zoned++
		}
	}
	if timed < len(tags) {
		if timed > 0 {
			i.warn("times-missing", fmt.Sprintf("%d of %d stills carry no time: none is used; give the rate of the burst or the times", len(tags)-timed, len(tags)))
		}
		return
	}
	fewest := tags[0].digits
	for _, t := range tags {
		at := t.time
		if zoned == len(tags) { // the clock may have been put forward in between
			at = new(big.Rat).Sub(at, big.NewRat(int64(*t.offset), 1))
		}
		i.Stamps = append(i.Stamps, at)
		fewest = min(fewest, t.digits)
	}
	i.tick = resolution(i.Stamps, fewest)
	tick, _ := i.tick.Float64()
	i.StampU = tick / math.Sqrt(12) // cut to whole ticks: GUM, JCGM 100:2008, 4.3.7
	i.trustStills(tick)
}

// enough is how many stamps must all be whole multiples of a coarser unit for the camera's clock to tick in it: by chance, that
// happens once in 10^enough runs.
const enough = 4

// resolution is the unit the stamps were cut to, s: the power of ten their decimals give, or a coarser one, at most 1 s, of
// which all are multiples. Cameras write three digits also where their clock ticks in tenths.
func resolution(stamps []*big.Rat, digits int) *big.Rat {
	ten := big.NewRat(10, 1)
	unit := big.NewRat(1, 1)
	for range digits {
		unit.Quo(unit, ten)
	}
	for ; len(stamps) >= enough && digits > 0; digits-- {
		coarser := new(big.Rat).Mul(unit, ten)
		for _, s := range stamps {
			if !new(big.Rat).Quo(s, coarser).IsInt() {
				return unit
			}
		}
		unit = coarser
	}
	return unit
}

// trustStills says how far the stamps may be believed.
func (i *Info) trustStills(tick float64) {
	same, back := 0, 0
	for k := 1; k < len(i.Stamps); k++ {
		switch i.Stamps[k].Cmp(i.Stamps[k-1]) {
		case 0:
			same++
		case -1:
			back++
		}
	}
	i.StampsTrusted = same+back == 0
	switch {
	case back > 0:
		i.warn("times-not-rising", fmt.Sprintf("the stills' own times go back at %d of them: their names do not follow the order they were taken in, "+
			"or the clock was set; rename them, or give the rate of the burst or the times", back))
	case same > 0:
		i.warn("times-not-rising", fmt.Sprintf("%d stills carry the same time as the one before: the camera's clock, read to %g s, is too coarse to tell them apart; "+
			"give the rate of the burst or the times", same, tick))
	case tick == 1 && len(i.Stamps) > 1:
		i.warn("whole-seconds", "the stills' times are whole seconds: give the rate of the burst for more than a rough answer")
	}
}

// exposeStills sets what the first still says of the camera.
func (i *Info) exposeStills(tags []exif) {
	first := tags[0]
	i.Exposure, i.FNumber, i.ISO, i.FocalLength, i.FocalLength35 = first.exposure, first.fNumber, first.iso, first.focal, first.focal35
	zoomed := false
	for k, t := range tags {
		if t.exposure != first.exposure {
			i.warn("exposure-varies", fmt.Sprintf("the exposure time differs between the stills, first at %s: the first one's, %g s, is used for all", i.Names[k], first.exposure))
			break
		}
		zoomed = zoomed || t.focal != first.focal
	}
	if zoomed {
		i.warn("focal-length-varies", "the focal length differs between the stills: one scale does not fit them all")
	}
}
