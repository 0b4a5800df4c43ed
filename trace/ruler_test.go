package trace_test

import (
	"math"
	"testing"

	"padside/scene"
	"padside/trace"
)

// checkRuler holds the change of the barrel's length against the truth: how two points painted on the near side of the vehicle that is drawn move against each other, and the
// uncertainty that is stated, most pulls of it at most. Half a degree of lean changes it by 0.3 to 0.6 % over the view.
func checkRuler(t *testing.T, tk *scene.Take, p *trace.Path) {
	t.Helper()
	const most, mostChange, leastReach = 3.5, 0.003, 0.85
	if p.Ruler.Frames < 10 {
		t.Errorf("the barrel's length is seen in %d frames", p.Ruler.Frames)
		return
	}
	truth, far := rulerTruth(tk, p)
	e := p.Ruler.Rate - truth
	t.Logf("the barrel's length changes by %.2f %%, truth %.2f %%, off by %.1f times its uncertainty", 100*p.Ruler.Rate*far, 100*truth*far, e/p.Ruler.U)
	if math.Abs(e) > most*p.Ruler.U || math.Abs(e*far) > mostChange || p.Ruler.Reach < leastReach*far {
		t.Errorf("the barrel's length is off by %.3f %%, %.1f times its uncertainty, up to %.0f of %.0f px", 100*e*far, e/p.Ruler.U, p.Ruler.Reach, far)
	}
}

// rulerTruth is the slope of a straight line through 1 at rest, fitted to how long what is painted on the barrel is drawn, and how far up it was followed, px.
func rulerTruth(tk *scene.Take, p *trace.Path) (rate, far float64) {
	s := tk.Scene
	length := func(frame int) float64 {
		v := &s.Vehicles[0]
		a, b := s.Before(1, frame, 0.45*v.Length, v.Diameter/2), s.Before(1, frame, 0.65*v.Length, v.Diameter/2)
		return math.Hypot(a.Steady.X-b.Steady.X, a.Steady.Y-b.Steady.Y)
	}
	rest := length(p.Points[0].Frame)
	var sxx, sxy float64
	for _, q := range p.Points {
		way := (q.X-p.Line.Rest.X)*p.Line.Ux + (q.Y-p.Line.Rest.Y)*p.Line.Uy
		sxx, sxy = sxx+way*way, sxy+way*(length(q.Frame)/rest-1)
		far = max(far, way)
	}
	return sxy / sxx, far
}
