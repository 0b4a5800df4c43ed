package main

import (
	"fmt"
	"math"
	"os"
	"slices"

	"padside/desk"
	"padside/metrology"
	"padside/motion"
	"padside/scene"
)

const heading = `| class | answer | answers | interval holds | rms error | median error | median width |
|---|---|---|---|---|---|---|`

// studied are the answers of the table, in its order.
var studied = [...]string{motion.FirstMotion, motion.TimeToSpeed, motion.PeakSpeed, motion.PeakAcceleration,
	motion.GateCrossing, motion.GateSpeed, motion.FreeFallAcceleration}

// table gathers the fate of each answer over the takes of one class.
type table struct {
	class string
	rows  map[string]*row
	lost  []string // takes without any answer, and why
}

// row is one answer. Instants are counted in frame intervals, all else relative to the truth.
type row struct {
	held, silent  int
	errors, width []float64
}

func newTable(class string) *table {
	t := &table{class: class, rows: map[string]*row{}}
	for _, id := range studied {
		t.rows[id] = &row{}
	}
	return t
}

// inFrames says whether an answer is an instant.
func inFrames(id string) bool { return id == motion.FirstMotion || id == motion.GateCrossing }

func (t *table) add(seed uint64, take *scene.Take, m *desk.Measurement, verbose bool) {
	known := take.Known()
	step := take.Scene.Stamps[1] - take.Scene.Stamps[0]
	for _, a := range m.Sheet.Answers {
		r := t.rows[a.ID]
		truth, ok := truthOf(take, known, m, a)
		if r == nil || !ok {
			continue
		}
		if a.Status != metrology.Measured {
			r.silent++
			continue
		}
		size := math.Abs(truth)
		if inFrames(a.ID) {
			size = step
		}
		held := a.Interval[0] <= truth && truth <= a.Interval[1]
		if held {
			r.held++
		}
		if verbose && !held {
			fmt.Fprintf(os.Stderr, "%s seed %d %s: truth %.6g, measured %.6g in [%.6g, %.6g]\n",
				t.class, seed, a.ID, truth, *a.Value, a.Interval[0], a.Interval[1])
		}
		r.errors = append(r.errors, (*a.Value-truth)/size)
		r.width = append(r.width, (a.Interval[1]-a.Interval[0])/size)
	}
}

// truthOf finds the truth an answer speaks of. Peaks are those until the last frame in which the vehicle was followed, which is all that they
// are said of.
func truthOf(take *scene.Take, known []scene.Known, m *desk.Measurement, a metrology.Answer) (float64, bool) {
	f := take.Flights[a.Lane-1]
	if last, ok := lastSeen(take, m, a.Lane); ok {
		switch {
		case a.ID == motion.PeakSpeed:
			_, v := f.PeakSpeed(last)
			return v, true
		case a.ID == motion.PeakAcceleration && a.Window != nil:
			_, v := f.PeakAcceleration(*a.Window, last)
			return v, true
		}
	}
	for _, k := range known {
		if k.Of(a.ID, a.Lane, a.At()) {
			return k.Value, true
		}
	}
	return 0, false
}

// lastSeen is when the vehicle of a lane was last followed, s since its flight began.
func lastSeen(take *scene.Take, m *desk.Measurement, lane int) (float64, bool) {
	for _, l := range m.Lanes {
		if n := len(l.Heights); l.Path.Lane == lane && n > 0 {
			return l.Heights[n-1].T - take.Scene.Vehicles[lane-1].Start, true
		}
	}
	return 0, false
}

func (t *table) print() {
	for _, id := range studied {
		r := t.rows[id]
		n := len(r.errors)
		if n == 0 && r.silent == 0 {
			continue
		}
		answers := fmt.Sprint(n)
		if r.silent > 0 {
			answers += fmt.Sprintf(" (+%d without a value)", r.silent)
		}
		if n == 0 {
			fmt.Printf("| %s | %s | %s | | | | |\n", t.class, id, answers)
			continue
		}
		var squares float64
		sizes := make([]float64, n)
		for i, e := range r.errors {
			squares += e * e
			sizes[i] = math.Abs(e)
		}
		scale, unit := 100.0, " %"
		if inFrames(id) {
			scale, unit = 1, " fr"
		}
		fmt.Printf("| %s | %s | %s | %d of %d | %.3g%s | %.3g%s | %.3g%s |\n", t.class, id, answers, r.held, n,
			scale*math.Sqrt(squares/float64(n)), unit, scale*median(sizes), unit, scale*median(r.width), unit)
	}
	for _, l := range t.lost {
		fmt.Printf("\n%s: nothing measured, %s\n", t.class, l)
	}
}

func median(x []float64) float64 {
	slices.Sort(x)
	return x[len(x)/2]
}
