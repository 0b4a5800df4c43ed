package main

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"padside/desk"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/scene"
)

// What it costs not to state the shutter: each take is filmed once, at 240 fps by a sensor that is
// read from the top in untoldReadout, and measured twice, with the row time stated exactly and with
// nothing said of the shutter. All else is known as well as can be, or the scale's own doubt would
// hide what the shutter adds.
const untoldReadout = 3.6e-3 // s

// Standard uncertainties of the distances, relative, and of the lean.
const (
	untoldRange = 0.0005
	untoldLean  = 0.3 // degrees
)

// readFromTop is such a camera, its picture not higher than wide: one that is would have been
// turned, and its file would say so.
func readFromTop(c chance, s *shot) {
	bright(c, s)
	cam := &s.take.Scene.Camera
	cam.Width = max(cam.Width, cam.Height)
	cam.Readout = scene.FromTop
	cam.RowTime = untoldReadout / float64(cam.Lines())
	rod, line := s.take.Scene.Rod.Range, s.take.Scene.Vehicles[0].Range-s.take.Scene.Vehicles[0].Diameter/2
	s.said.rodRange, s.said.flightRange = about(c, rod, untoldRange*rod), about(c, line, untoldRange*line)
	lean := 180 / math.Pi * s.take.Scene.Vehicles[0].Lean
	s.said.lean = fmt.Sprintf("%.2f(%.2f) deg", lean+untoldLean*c.NormFloat64(), untoldLean)
}

// tells is how well the vehicle's length must tell the delay of a row, over the standard deviation
// of what is possible beforehand, to count as telling it.
const tells = 0.5

// untold prints, for each take, how many times as wide peak speed is without the statement, and
// whether the vehicle's length told the shutter; then the medians.
func (o *settings) untold(ctx context.Context) error {
	c := class{key: "untold", scope: scope{kinds: []string{"motor", "motor", "bottle", "drop"}, rates: []float64{240}, length: usual}, film: readFromTop}
	dir := o.keep
	if dir == "" {
		temporary, err := os.MkdirTemp("", "padside-untold-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(temporary)
		dir = temporary
	}
	ratios := map[bool][]float64{}
	var held, answered int
	for seed := o.first; seed < o.first+uint64(o.seeds); seed++ {
		s, at := c.draw(seed), folder(dir, c, seed)
		if err := s.film(ctx, at); err != nil {
			return fmt.Errorf("seed %d: film: %w", seed, err)
		}
		s.said.shutter, s.said.rowTime = "rolling", fmt.Sprintf("%.6f us", 1e6*s.take.Scene.Camera.RowTime)
		stated, _ := s.peak(ctx, at)
		s.said.shutter, s.said.rowTime = "", ""
		alone, m := s.peak(ctx, at)
		if o.keep == "" {
			os.RemoveAll(at)
		}
		if stated == nil || alone == nil {
			fmt.Printf("seed %d: %s, no peak speed\n", seed, s.kind)
			continue
		}
		truth, _, _ := s.truth(m, *alone)
		hit, told := alone.Interval[0] <= truth && truth <= alone.Interval[1], s.told(m)
		ratio := (alone.Interval[1] - alone.Interval[0]) / (stated.Interval[1] - stated.Interval[0])
		ratios[told] = append(ratios[told], ratio)
		if answered++; hit {
			held++
		}
		fmt.Printf("seed %d: %s of %.2f m: peak speed %.4g to %.4g m/s stated, %.4g to %.4g not, %.2f times as wide; told by length %v, holds %v\n",
			seed, s.kind, s.take.Scene.Vehicles[0].Length, stated.Interval[0], stated.Interval[1], alone.Interval[0], alone.Interval[1], ratio, told, hit)
	}
	fmt.Printf("\nnot stated: %d of %d hold\n", held, answered)
	for _, told := range []bool{true, false} {
		if r := ratios[told]; len(r) > 0 {
			slices.Sort(r)
			fmt.Printf("told by length %v: %d takes, %.2f times as wide in the median, %.2f in the widest tenth\n", told, len(r), r[len(r)/2], r[len(r)*9/10])
		}
	}
	return nil
}

// peak measures the take as it is stated, and returns its peak speed, nil if there is none.
func (s *shot) peak(ctx context.Context, dir string) (*metrology.Answer, *desk.Measurement) {
	if logbook.WriteAtomic(dir, map[string][]byte{"launch.toml": s.launchText()}) != nil {
		return nil, nil
	}
	m, err := desk.Measure(ctx, filepath.Join(dir, "launch.toml"), desk.Options{Seed: 1})
	if err != nil {
		return nil, nil
	}
	for i := range m.Sheet.Answers {
		if a := &m.Sheet.Answers[i]; a.ID == motion.PeakSpeed && a.Status == metrology.Measured {
			return a, m
		}
	}
	return nil, m
}

// told says whether the vehicle's length tells the shutter of a take.
func (s *shot) told(m *desk.Measurement) bool {
	rows := float64(s.take.Scene.Camera.Height)
	prior := 0.9 / math.Sqrt(12) / s.hz / rows // of readouts from a tenth to the whole of the frame time
	for i := range m.Lanes {
		if _, u, ok := m.Lanes[i].Scale.SkewSeen(); ok && u > 0 && u < tells*prior {
			return true
		}
	}
	return false
}
