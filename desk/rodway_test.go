package desk

import (
	"math"
	"testing"

	"padside/logbook"
	"padside/units"
)

// The way of a rod goes from its lowest mark to its highest, in whatever order they stand, and what was followed holds while a mark is moved by a pixel.
func TestRodWay(t *testing.T) {
	t.Parallel()
	mark := func(at, x, y float64) logbook.RodMark {
		return logbook.RodMark{At: units.Quantity{Value: at}, X: x, Y: y}
	}
	l := &logbook.Launch{Kind: "motor"}
	l.Scale.Kind = "rod"
	if w := rodWay(l); w != [2]float64{} {
		t.Errorf("no marks: %v", w)
	}
	l.Scale.Marks = []logbook.RodMark{mark(1, 101, 250), mark(2, 104, 50), mark(0, 100, 450)}
	if w := rodWay(l); math.Hypot(w[0], w[1]+1) > 1e-12 {
		t.Errorf("%v, want up the picture", w)
	}
	key := followKey(l)
	l.Scale.Marks[1].X++
	if followKey(l) != key {
		t.Error("a mark moved by a pixel asks for following anew")
	}
	l.Scale.Marks[1] = mark(2, 300, 440)
	if followKey(l) == key {
		t.Error("a rod that lies asks for nothing new")
	}
	key = followKey(l)
	if l.Kind = "drop"; followKey(l) == key {
		t.Error("what falls asks for nothing new")
	}
	if l.Scale.Kind = "length"; rodWay(l) != [2]float64{} {
		t.Error("a length has the way of a rod")
	}
}
