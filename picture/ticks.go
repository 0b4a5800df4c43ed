package picture

import (
	"math"
	"strconv"
)

// tick is a place on an axis with its words.
type tick struct {
	at    float64
	label string
}

// ticks divides an axis into at most so many even steps of 1, 2 or 5 times a power of ten.
func ticks(lo, hi float64, most int) []tick {
	if !(hi > lo) {
		return nil
	}
	least := (hi - lo) / float64(max(1, most))
	ten := math.Floor(math.Log10(least))
	step := math.Pow(10, ten)
	for _, k := range []float64{2, 5, 10} {
		if step >= least*(1-1e-9) {
			break
		}
		step = k * math.Pow(10, ten)
	}
	places := max(0, int(-math.Floor(math.Log10(step)+1e-9)))
	var out []tick
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+1e-9*step; k++ {
		out = append(out, tick{k * step, strconv.FormatFloat(k*step+0, 'f', places, 64)})
	}
	return out
}
