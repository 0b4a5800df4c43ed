package sheet

import (
	"math"
	"strconv"
)

// Axis is the common axis of a sheet's intervals, from its left end at 0 % to its right end at 100 %.
type Axis struct {
	From, To float64
	Ticks    []Tick
}

// Tick is a ruled line of an axis with its number.
type Tick struct {
	At   float64 // %
	Text string
}

// AxisOf is an axis on which the intervals of all lines lie.
func AxisOf(lines []HeatLine) Axis {
	a := Axis{From: math.Inf(1), To: math.Inf(-1)}
	for _, l := range lines {
		if l.Low != nil && l.High != nil {
			a.From, a.To = math.Min(a.From, *l.Low), math.Max(a.To, *l.High)
		}
	}
	if !(a.From <= a.To) {
		return Axis{From: 0, To: 1}
	}
	room := 0.06 * (a.To - a.From)
	if room == 0 {
		room = math.Max(1e-9, 0.01*math.Abs(a.To))
	}
	a.From, a.To = a.From-room, a.To+room
	a.rule()
	return a
}

// mostTicks is how many numbers fit below a narrow axis.
const mostTicks = 4

// rule finds the finest step of 1, 2 or 5 times a power of ten that leaves room for the numbers.
func (a *Axis) rule() {
	place := int(math.Floor(math.Log10((a.To - a.From) / mostTicks)))
	for ; ; place++ {
		for _, m := range []float64{1, 2, 5} {
			step := m * math.Pow10(place)
			first, last := math.Ceil(a.From/step), math.Floor(a.To/step)
			if last-first >= mostTicks || last < first {
				continue
			}
			for k := first; k <= last; k++ {
				a.Ticks = append(a.Ticks, Tick{a.At(k * step), strconv.FormatFloat(k*step, 'f', max(0, -place), 64)})
			}
			return
		}
		if place > 30 {
			return
		}
	}
}

// At is where a value lies, %.
func (a Axis) At(v float64) float64 { return math.Round(1e4*(v-a.From)/(a.To-a.From)) / 100 }

// Has says whether there is anything to draw.
func (a Axis) Has() bool { return len(a.Ticks) > 0 }
