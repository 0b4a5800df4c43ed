package trace

import (
	"testing"

	"padside/layer"
)

// A place goes where all frames together are sure of another, a coarse one where they do not find the
// vehicle there; what is at rest stays.
func TestJudge(t *testing.T) {
	t.Parallel()
	b := &judgedBand{layout: &layer.Band{Step: 2}, from: 10, each: 1, seen: map[int]seenPlace{}}
	b.known.Rests, b.known.LastRest = true, 10
	at := func(frame int, s float64) layer.Place { return layer.Place{Frame: frame, S: s, P: 1} }
	unsure := layer.Located{Place: layer.Place{Frame: 14, S: 90, P: 0.6}, Others: []layer.Place{{Frame: 14, S: 40, P: 0.4}}}
	all := []layer.Located{{Place: at(11, 10)}, {Place: at(12, 20)}, {Place: at(13, 80)}, unsure, {Place: at(15, 50)}}
	p := &Path{}
	for i, q := range []struct {
		s      float64
		source string
		stays  bool
	}{
		{0, SourceFollowed, true}, {10, SourceFollowed, true}, {23, SourceCoarse, true}, {30, SourceFollowed, false},
		{40, SourceFollowed, true}, {70, SourceCoarse, false}, {75, SourceCoarse, false}, {80, SourceFollowed, true},
	} {
		frame := 10 + i
		b.seen[frame] = seenPlace{s: q.s, fine: q.source == SourceFollowed}
		p.Points = append(p.Points, Point{Frame: frame, X: q.s, Source: q.source})
		if !q.stays {
			defer func() {
				for _, o := range p.Points {
					if o.Frame == frame {
						t.Errorf("frame %d keeps a place that all frames speak against", frame)
					}
				}
			}()
		}
	}
	b.judge(p, all)
	if len(p.Points) != 5 || len(p.Dropped) != 3 {
		t.Errorf("%d places stay and %d go, want 5 and 3", len(p.Points), len(p.Dropped))
	}
}
