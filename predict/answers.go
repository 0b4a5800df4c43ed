package predict

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"

	"padside/fault"
	"padside/flight"
	"padside/guard"
	"padside/metrology"
)

// Reached are the answers to a flight, in their order.
var Reached = [...]struct{ ID, Unit string }{{"initial_thrust", "N"}, {"total_impulse", "N s"}, {"end_of_water_speed", "m/s"}, {"end_of_thrust_speed", "m/s"},
	{"end_of_thrust_time", "s"}, {"peak_speed", "m/s"}, {"peak_acceleration", "m/s2"}, {"apogee", "m"}, {"apogee_time", "s"}, {"stored_energy", "J"}, {"rod_exit_speed", "m/s"}}

// values are a flight's answers; NaN where it has none.
func (w *Flown) Values(rod float64) [len(Reached)]float64 {
	nan := math.NaN()
	v := [len(Reached)]float64{}
	for i := range v {
		v[i] = nan
	}
	f := w.Flight
	v[0] = f.Thrust(f.FirstMotion + 1e-9)
	v[1] = impulseOf(f)
	for _, p := range f.Phases() {
		if p.Name == flight.Water {
			v[2] = f.At(p.To).Speed
		}
	}
	v[3], v[4] = f.At(f.EndOfThrust).Speed, f.EndOfThrust-f.FirstMotion
	end := f.End
	if t, h, ok := f.Apogee(); ok {
		v[7], v[8], end = h, t-f.FirstMotion, t
	}
	_, v[5] = f.PeakSpeed(end)
	_, v[6] = f.PeakAcceleration(0, end)
	if w.stored > 0 {
		v[9] = w.stored
	}
	if rod > 0 {
		if t, ok := f.HeightReached(rod); ok {
			v[10] = f.At(t).Speed
		}
	}
	return v
}

// impulseOf sums thrust over time by Simpson's rule within each phase, where it is smooth.
func impulseOf(f *flight.Flight) float64 {
	sum := 0.0
	for _, p := range f.Phases() {
		if p.From >= f.EndOfThrust || p.To <= p.From {
			continue
		}
		const n = 400
		from, to := p.From, math.Min(p.To, f.EndOfThrust)
		h := (to - from) / n
		for i := range n {
			a, b := from+float64(i)*h, from+float64(i+1)*h
			// Just inside the ends: thrust jumps there.
			sum += h / 6 * (f.Thrust(a+1e-9*h) + 4*f.Thrust((a+b)/2) + f.Thrust(b-1e-9*h))
		}
	}
	return sum
}

// answers flies draws of the inputs and sums them up.
func (m Model) answers(ctx context.Context, best *Flown, seed uint64, progress func(string, int, int)) ([]metrology.Answer, error) {
	rod := m.Best().Value["rod_length"]
	values := best.Values(rod)
	n := predictDraws
	if !m.uncertain() {
		n = 0
	}
	flown, err := m.draw(ctx, n, seed, rod, nil, progress)
	if err != nil {
		return nil, err
	}
	failed := 0
	for _, f := range flown {
		if f == nil {
			failed++
		}
	}
	if 20*failed > n && n > 0 {
		return nil, fault.Requestf("narrow the uncertainties, or move the values away from what cannot fly", "%d of %d flights that the stated uncertainties allow do not fly", failed, n)
	}
	var out []metrology.Answer
	for k, p := range Reached {
		a := metrology.Answer{ID: p.ID, Unit: p.Unit}
		if math.IsNaN(values[k]) {
			if p.ID == "apogee" {
				out = append(out, metrology.WithoutValue(a, metrology.NotReached, "no apogee is reached"))
			}
			continue // of another kind of vehicle
		}
		if n == 0 {
			if a, err = metrology.FromEstimate(a, metrology.Known(values[k], 0)); err != nil {
				return nil, err
			}
		} else if a, err = FromDraws(a, values[k], Column(flown, k)); err != nil {
			return nil, err
		}
		out = append(out, a)
	}
	return out, nil
}

// column is one answer on all draws that have it.
func Column(flown []*[len(Reached)]float64, k int) []float64 {
	var out []float64
	for _, f := range flown {
		if f != nil && !math.IsNaN(f[k]) {
			out = append(out, f[k])
		}
	}
	return out
}

// fromDraws is FromDraws for a best value that a skewed spread may leave at the edge of its draws.
func FromDraws(a metrology.Answer, value float64, draws []float64) (metrology.Answer, error) {
	lo, hi := draws[0], draws[0]
	for _, d := range draws {
		lo, hi = math.Min(lo, d), math.Max(hi, d)
	}
	return metrology.FromDraws(a, math.Min(math.Max(value, lo), hi), draws)
}

// draw flies n draws of the Inputs, each changed by set where that is given, and returns their values, nil for one that cannot fly.
func (m Model) draw(ctx context.Context, n int, seed uint64, rod float64, set func(Inputs), progress func(string, int, int)) ([]*[len(Reached)]float64, error) {
	all := make([]*[len(Reached)]float64, n)
	return all, FlyAll(ctx, n, progress, func(i int) {
		in := m.drawn(rand.New(rand.NewPCG(seed, uint64(i))))
		if set != nil {
			set(in)
		}
		if f, err := m.Fly(in); err == nil {
			v := f.Values(rod)
			all[i] = &v
		}
	})
}

// flyAll calls fly for each of n flights, on all processors, until ctx is done. progress may be nil.
func FlyAll(ctx context.Context, n int, progress func(string, int, int), fly func(i int)) error {
	g, ctx := guard.WithContext(ctx)
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		g.Go(func() error {
			for i := w; i < n; i += workers {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				fly(i)
				if w == 0 && progress != nil {
					progress("predict", i, n)
				}
			}
			return nil
		})
	}
	return g.Wait()
}
