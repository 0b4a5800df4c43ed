package motion

import (
	"context"
	"math"

	"padside/metrology"
)

// previewSets is how many parameter sets the window of peak acceleration is chosen from.
const previewSets = 64

// windowU is the relative standard uncertainty that the window of peak acceleration must keep, and
// windowFrames the fewest frame intervals it spans.
const (
	windowU      = 0.025
	windowFrames = 3
)

// chooseWindow sets the window of peak_acceleration: the one asked for, or the shortest
// number of frame intervals over which the vehicle's own motion (common errors do not
// depend on the window) gives the highest mean acceleration to windowU.
func (m *measurement) chooseWindow(ctx context.Context, sets []set) error {
	obs, s := m.in.Observations, m.post.s
	step := s.step * s.unitT
	view := obs[len(obs)-1].T - obs[s.move].T
	if w := m.in.Questions.Window; w > 0 {
		if w < view {
			m.window = w
		}
		return nil
	}
	longest := int(view/step + 0.5)
	if longest < windowFrames {
		return nil
	}
	few := append([]set(nil), sets[:min(len(sets), previewSets)]...)
	first := 0
	for i := range few {
		few[i].pairs, few[i].first = 1, first
		first++
	}
	paths := make([]*path, 2*len(few))
	means := make([]*path, len(few))
	err := forEach(ctx, few, m.in.Seed^0x77696e646f77, m.effort.workers, func(_, i int, p, mean *path) {
		paths[i] = p.clone()
		if i%2 == 0 {
			means[i/2] = mean.clone()
		}
	})
	if err != nil {
		return err
	}
	for k := windowFrames; ; k = k + max(1, k/5) {
		k = min(k, longest)
		m.window = float64(k) * step
		var g []float64
		for i, p := range paths {
			if p == nil || means[i/2] == nil {
				continue
			}
			t := means[i/2].steepest(m.window)
			g = append(g, p.at(t+m.window).v-p.at(t).v)
		}
		var sum float64
		for _, x := range g {
			sum += x
		}
		if mean := sum / float64(len(g)); metrology.SD(g) < windowU*math.Abs(mean) || k == longest {
			return nil
		}
	}
}
