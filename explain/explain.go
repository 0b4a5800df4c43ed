package explain

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"padside/fault"
	"padside/flight"
	"padside/metrology"
)

// Result is a model fitted.
type Result struct {
	Unknowns    []Unknown
	Values      []float64   // the most probable ones, SI
	Draws       [][]float64 // one row per draw of the posterior: values of the unknowns
	Fitted      []Fitted
	Correlation [][]float64 // of the unknowns
	Launches    []LaunchFit
	Test        ResidualTest
	Evidence    float64 // logarithm of the probability of what was seen by the model, but for a constant that is the same for all models of it
	Warnings    []fault.Warning
	// Impossible is not empty where only a flight that cannot be comes near to what was seen: in words, what it has. There are no draws then, and
	// Values are that flight's: residuals and test say how far even it is off.
	Impossible string

	problem *problem
}

// Fitted is what the footage says of one unknown.
type Fitted struct {
	Value  float64
	U      float64 // standard deviation of the draws
	Told   bool    // the footage says more than was known beforehand
	Budget []metrology.Share
}

// LaunchFit is the fit of one launch.
type LaunchFit struct {
	Flight       *flight.Flight // the most probable one, to the end of what was seen
	FirstMotion  float64        // s, in the observations' time
	FirstMotionU float64        // s
	Residuals    []Residual
	motions      []float64 // first motion of each draw
}

// Residual is one frame: what was seen, and that less what the model has. Height is as the most probable scale has it.
type Residual struct {
	Frame    int     `json:"frame"`
	T        float64 `json:"t"`
	Height   float64 `json:"height"`
	Residual float64 `json:"residual"`
	U        float64 `json:"u"` // standard uncertainty of the frame alone, at the scatter found
}

// fewestUseful is how many draws an interval needs.
const fewestUseful = 100

// Weigh returns how probable a model makes what was seen, as Result.Evidence has it, and whether it fits, without the draws: for another model of the
// same launches and unknowns.
func Weigh(ctx context.Context, in Input) (evidenceOf float64, fits bool, err error) {
	if err := in.check(); err != nil {
		return 0, false, err
	}
	p, err := prepare(&in)
	if err != nil {
		return 0, false, err
	}
	s, err := p.solve(ctx)
	if err != nil {
		return 0, false, err
	}
	return evidence(s.asked), p.test(s).Fits, nil
}

// Run fits a model to launches. A model that fits badly, or that no possible flight of comes near, gives a Result whose Test does not Fit; a
// fault.Error of kind NoAnswer says that the footage is too short, or leaves too much open.
func Run(ctx context.Context, in Input) (*Result, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	p, err := prepare(&in)
	if err != nil {
		return nil, err
	}
	s, err := p.solve(ctx)
	if err != nil {
		return nil, err
	}
	res := &Result{Unknowns: in.Unknowns, Test: p.test(s), Evidence: evidence(s.asked), problem: p}
	sets, worth, err := p.draws(ctx, s)
	few := worth*drawn < fewestUseful
	if errors.Is(err, errImpossible) || err == nil && few && (!res.Test.Fits || p.beyond(s) != "") {
		return res, res.impossible(s)
	}
	if err != nil {
		return nil, err
	}
	if few {
		return nil, fault.NoAnswerf("free fewer inputs, or state some in the flight file with their uncertainty", "the footage leaves too much open: of %d flights drawn from the fit, %.0f can be used, and no interval can be told from them", drawn, worth*drawn)
	}
	if err := res.summarise(s, sets); err != nil {
		return nil, err
	}
	if err := res.launches(s, sets); err != nil {
		return nil, err
	}
	res.judge(worth)
	return res, nil
}

// summarise gathers what the draws say of the unknowns.
func (r *Result) summarise(s *solution, sets [][]float64) error {
	p := r.problem
	r.Values = p.values(s.x)
	k := len(r.Unknowns)
	columns := make([][]float64, k)
	for _, x := range sets {
		v := p.values(x)
		r.Draws = append(r.Draws, v)
		for j := range k {
			columns[j] = append(columns[j], v[j])
		}
	}
	shares, err := p.budget(s)
	if err != nil {
		return err
	}
	for j := range k {
		u := &r.Unknowns[j]
		sd := metrology.SD(columns[j])
		lo, hi := slices.Min(columns[j]), slices.Max(columns[j])
		r.Values[j] = math.Min(math.Max(r.Values[j], lo), hi)
		before := u.U
		if before == 0 {
			before = u.flat()
		}
		r.Fitted = append(r.Fitted, Fitted{Value: r.Values[j], U: sd, Told: sd < 0.7*before, Budget: shares[j]})
		row := make([]float64, k)
		for i := range k {
			row[i] = correlation(columns[j], columns[i])
		}
		r.Correlation = append(r.Correlation, row)
	}
	return nil
}

func correlation(a, b []float64) float64 {
	ma, va := metrology.Variance(a)
	mb, vb := metrology.Variance(b)
	if va == 0 || vb == 0 {
		return 0
	}
	sum := 0.0
	for i := range a {
		sum += (a[i] - ma) * (b[i] - mb)
	}
	return sum / float64(len(a)-1) / math.Sqrt(va*vb)
}

// launches gathers residuals and first motion of each launch.
func (r *Result) launches(s *solution, sets [][]float64) error {
	p := r.problem
	for i, l := range p.launches {
		f, err := p.fly(i, s.x)
		if err != nil {
			return fmt.Errorf("fly the fitted model: %w", err)
		}
		out := LaunchFit{Flight: f, FirstMotion: l.origin + l.step*s.x[l.first+atMotion]}
		for _, x := range sets {
			out.motions = append(out.motions, l.origin+l.step*x[l.first+atMotion])
		}
		out.FirstMotionU = metrology.SD(out.motions)
		for k := range l.t {
			r := (l.h[k] - l.modelled(s.x, k)) / l.bend[k]
			out.Residuals = append(out.Residuals, Residual{l.frame[k], l.t[k], l.height[k] + r, r, l.sd(k) / l.bend[k]})
		}
		r.Launches = append(r.Launches, out)
	}
	return nil
}

// budget is, for each unknown, the share of its variance that each source makes: in the linear model the estimate is C J' r, so that rows
// that belong to one source contribute the sum of (C J_row')^2.
func (p *problem) budget(s *solution) ([][]metrology.Share, error) {
	c := s.covariance
	rows, n := s.jacobian.Dims()
	priors := p.priors()
	out := make([][]metrology.Share, len(p.in.Unknowns))
	for j := range out {
		sums := map[string]float64{}
		total := 0.0
		for i := range rows {
			lever := 0.0
			for k := range n {
				lever += c.At(j, k) * s.jacobian.At(i, k)
			}
			part, source := lever*lever, traceNoise
			if i >= p.rows { // not a frame's, but of what was known beforehand
				q := priors[i-p.rows]
				source = q.source
				if q.parameter < len(p.in.Unknowns) && p.in.Unknowns[q.parameter].U == 0 {
					source = "limits of what is possible"
				}
			}
			sums[source] += part
			total += part
		}
		for source, v := range sums {
			if share := v / total; share >= 0.005 {
				out[j] = append(out[j], metrology.Share{Source: source, Share: share})
			}
		}
		slices.SortFunc(out[j], func(a, b metrology.Share) int {
			if a.Share != b.Share {
				if a.Share > b.Share {
					return -1
				}
				return 1
			}
			if a.Source < b.Source {
				return -1
			}
			return 1
		})
	}
	return out, nil
}
