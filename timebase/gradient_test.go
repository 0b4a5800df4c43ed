package timebase

import (
	"math"
	"testing"
)

// TestNarrowed holds what is left of the scans against Bayes' rule on a fine grid of readouts: how
// probable each edge is, mean and standard deviation of its readout, narrowed once and twice; of
// clips whose edge is not told, of stated row times and of global shutters among them.
func TestNarrowed(t *testing.T) {
	t.Parallel()
	upright := Filmed{Interval: 1. / 30, Width: 480, Height: 640}
	fast := Filmed{Interval: 1. / 1000, Width: 640, Height: 480, Readout: Readout{Y: 1}}
	g := Gradient{X: 14e-3 / 480, Y: 2e-3 / 640, Cov: [2][2]float64{{math.Pow(4e-3/480, 2), 6e-12}, {6e-12, math.Pow(5e-3/640, 2)}}}
	fastG := Gradient{X: 0, Y: 0.4e-3 / 480, Cov: [2][2]float64{{1e-12, 0}, {0, math.Pow(0.3e-3/480, 2)}}}
	for _, c := range []struct {
		name  string
		scans []Scan
		told  []Gradient
	}{
		{"an upright clip", Shutter{}.Scans(upright), []Gradient{g}},
		{"told twice", Shutter{}.Scans(upright), []Gradient{g, g}},
		{"a fast clip", Shutter{}.Scans(fast), []Gradient{fastG}},
		{"a stated row time", Shutter{Kind: Rolling, RowTime: 20e-6, RowTimeU: 4e-6}.Scans(Filmed{Width: 480, Height: 640, Readout: Readout{X: 1}}), []Gradient{g}},
	} {
		got := c.scans
		for _, g := range c.told {
			got = Narrowed(got, g)
		}
		var total float64
		want := make([][3]float64, len(c.scans)) // probability, sums of T and T²
		for i, s := range c.scans {
			const n = 20000
			for k := range n {
				readout := s.quantile((float64(k) + 0.5) / n)
				d := s.Readout.delay(readout / s.Rows)
				p := s.P / n
				for _, g := range c.told {
					p *= math.Exp(-g.Misfit(d) / 2)
				}
				want[i][0], want[i][1], want[i][2] = want[i][0]+p, want[i][1]+p*readout, want[i][2]+p*readout*readout
			}
			total += want[i][0]
		}
		for i, s := range got {
			p, mean := want[i][0]/total, want[i][1]/want[i][0]
			sd := math.Sqrt(max(0, want[i][2]/want[i][0]-mean*mean))
			var m, q float64
			const n = 4000
			for k := range n {
				v := s.quantile((float64(k) + 0.5) / n)
				m, q = m+v/n, q+v*v/n
			}
			u := math.Sqrt(max(0, q-m*m))
			if math.Abs(s.P-p) > 1e-3 || p > 1e-6 && (math.Abs(m-mean) > 0.01*sd+1e-9 || math.Abs(u-sd) > 0.02*sd+1e-9) {
				t.Errorf("%s, edge %d: probability %.5f, readout %.4f(%.4f) ms, want %.5f, %.4f(%.4f) ms", c.name, i, s.P, 1e3*m, 1e3*u, p, 1e3*mean, 1e3*sd)
			}
		}
	}
}

// TestNarrowedByUncertainScale: with a covariance of uncertain scale the scans are near Bayes' rule
// with a t distribution, and the wider the more the gradient has across the rows.
func TestNarrowedByUncertainScale(t *testing.T) {
	t.Parallel()
	scans := Shutter{}.Scans(Filmed{Interval: 1. / 30, Width: 640, Height: 480, Readout: Readout{Y: 1}})
	last := 0.0
	for _, across := range []float64{0, 2, 4} { // standard uncertainties
		g := Gradient{X: across * 2e-3 / 640, Y: 14e-3 / 480, Free: 4, Cov: [2][2]float64{{math.Pow(2e-3/640, 2), 0}, {0, math.Pow(1e-3/480, 2)}}}
		var n, sum, square float64
		for k := range 20000 {
			v := scans[0].quantile((float64(k) + 0.5) / 20000)
			p := math.Pow(1+g.Misfit(scans[0].Readout.delay(v/480))/g.Free, -(g.Free+2)/2)
			n, sum, square = n+p, sum+p*v, square+p*v*v
		}
		want := math.Sqrt(square/n - sum*sum/n/n)
		got := Narrowed(scans, g)
		u := GradientOf(got[:1]).Cov[1][1]
		if s := math.Sqrt(u) * 480; math.Abs(s-want) > 0.15*want || s < last || got[0].P < 0.99 {
			t.Errorf("%g uncertainties across: %.2f ms, want %.2f", across, 1e3*s, 1e3*want)
		} else {
			last = s
		}
	}
}

// TestNarrowedByNonsense: what no readout can have made leaves the scans as they are, and what tells
// of a global shutter stays one.
func TestNarrowedByNonsense(t *testing.T) {
	t.Parallel()
	scans := Shutter{}.Scans(Filmed{Interval: 1. / 30, Width: 640, Height: 480, Readout: Readout{Y: 1}})
	far := Gradient{Y: 0.5 / 480, Cov: [2][2]float64{{1e-12, 0}, {0, 1e-12}}}
	if got := Narrowed(scans, far); len(got) != len(scans) || got[0] != scans[0] {
		t.Errorf("%+v became %+v", scans, got)
	}
	if got := Narrowed(nil, far); got != nil {
		t.Errorf("a global shutter became %+v", got)
	}
	if g := GradientOf(scans); math.Abs(g.Y-0.9*18.3e-3/480) > 0.02*g.Y || g.X != 0 { // 5 % are read from below
		t.Errorf("the mean delay is %g s/px", g.Y)
	}
}
