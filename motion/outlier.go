package motion

import (
	"fmt"
	"math"
	"strings"

	"padside/fault"
)

// A frame is taken for mistraced when it lies this many standard uncertainties (at the
// noise level of the whole trace) off the path, and its neighbours less than half of that;
// at most this share of the frames is set aside, else it is the noise that is larger.
const (
	outlierAt    = 6.0
	outlierShare = 0.1
	// Fewer moving frames than this cannot tell a mistraced frame from a real motion.
	outlierFrames = 12
)

// setOutliersAside widens the uncertainty of frames that lie far off the path all others
// agree on, until none is left, and names them in a warning. It returns the fit to what
// is left. The observations are changed in a copy.
func setOutliersAside(in *Input, s *series, e effort) (guess, []fault.Warning) {
	obs := append([]Observation(nil), in.Observations...)
	g := firstGuess(s, e, nil)
	var names []string
	limit := int(outlierShare * float64(len(obs)))
	for range limit + 1 {
		if len(obs)-g.p.s.move < outlierFrames {
			break
		}
		i, off := g.worst()
		if i < 0 || len(names) >= limit {
			break
		}
		names = append(names, fmt.Sprintf("%d (%.0f times)", obs[i].Frame, off))
		obs[i].U *= 10 * off
		if s = newSeries(obs); s == nil {
			break // what is left does not move: keep the frame
		}
		g = firstGuess(s, e, &g)
	}
	if len(names) == 0 {
		return g, nil
	}
	in.Observations = obs
	return g, []fault.Warning{{Code: "frames-off-path", Message: fmt.Sprintf(
		"frames that lie many times their uncertainty off the path of the others were left aside: %s; look at the trace there", strings.Join(names, ", "))}}
}

// worst returns the frame that lies farthest off the plainest path in its standard
// uncertainties, or -1 where none stands out.
func (g *guess) worst() (frame int, off float64) {
	s := g.p.s
	mean := meanPath(g.p, g.bump.u)
	if mean == nil {
		return -1, 0
	}
	noise := math.Exp(g.bump.u[cNoise])
	z := make([]float64, len(s.t))
	for i := range z {
		h := (mean.at(s.seconds(s.t[i])).h - s.level) / s.unitH
		z[i] = math.Abs(s.y[i]-h) * math.Sqrt(s.w[i]) / noise
	}
	frame = -1
	for i, x := range z {
		lone := (i == 0 || z[i-1] < x/2) && (i == len(z)-1 || z[i+1] < x/2)
		if x > outlierAt && x > off && lone {
			frame, off = i, x
		}
	}
	return frame, off
}
