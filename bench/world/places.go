package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"padside/desk"
	"padside/trace"
)

// places says how far the places are from the true ones along the flight line, held against what is
// stated of each. The point that was followed is the one on the vehicle's axis that fits best.
func (s *shot) places(m *desk.Measurement) string {
	if len(m.Lanes) == 0 || len(m.Lanes[0].Path.Points) == 0 {
		return "no places"
	}
	p := &m.Lanes[0].Path
	off, least := []float64(nil), math.Inf(1)
	for k := range 21 {
		e := s.offAt(p, s.take.Scene.Vehicles[0].Length*float64(k)/20)
		var sum float64 // not the median: frames at rest, often most, are alike at any height
		for i := range e {
			sum += math.Abs(e[i])
		}
		if mean := sum / float64(len(e)); mean < least {
			off, least = e, mean
		}
	}
	var far, coarse, wrongCoarse int
	var runs []string
	var worst float64
	last := -10
	for i, e := range off {
		q := &p.Points[i]
		z := math.Abs(e) / q.Total()
		if q.Source == trace.SourceCoarse {
			coarse++
		}
		if z < farPlace {
			continue
		}
		far++
		if q.Source == trace.SourceCoarse {
			wrongCoarse++
		}
		if math.Abs(e) > math.Abs(worst) {
			worst = e
		}
		if i != last+1 {
			runs = append(runs, fmt.Sprintf("%d:%+.2f/%.2f", q.Frame, e, q.Total()))
		}
		last = i
	}
	n := len(p.Points)
	return fmt.Sprintf("places: %d of %d frames, %.3f px off on average; %d coarse; off by more than %g times what is stated: %d, %d of them coarse, up to %+.2f px; %s; %s",
		n, p.Points[n-1].Frame-p.Points[0].Frame+1, least, coarse, farPlace, far, wrongCoarse, worst, strings.Join(runs[:min(len(runs), 8)], " "), ending(p, off))
}

// ending is how far the last places are off, which no later frame speaks for.
func ending(p *trace.Path, off []float64) string {
	var last []string
	for i := max(0, len(off)-lastPlaces); i < len(off); i++ {
		last = append(last, fmt.Sprintf("%+.2f/%.2f", off[i], p.Points[i].Total()))
	}
	return "the last: " + strings.Join(last, " ")
}

// lastPlaces is how many places are the end of a trace.
const lastPlaces = 6

// farPlace is how many standard uncertainties are far.
const farPlace = 4.0

// offAt is by how much, px, the places lie further along the line than the point at a height on the vehicle does, less the median.
func (s *shot) offAt(p *trace.Path, at float64) []float64 {
	var e []float64
	for _, q := range p.Points {
		frame := s.recording.Frames[min(q.Frame, len(s.recording.Frames)-1)]
		t := s.take.Scene.Truth(1, frame, at).Steady
		e = append(e, (q.X-t.X)*p.Line.Ux+(q.Y-t.Y)*p.Line.Uy)
	}
	middle := median(slices.Clone(e))
	for i := range e {
		e[i] -= middle
	}
	return e
}
