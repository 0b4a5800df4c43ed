package motion

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// How suspects are found: a cubic in time through the frames to either side of a step, by the
// stamps and by each slip's clock. What is suspected is judged by the whole motion afterwards, so
// the threshold is low. Of a slow vehicle many frames tell what few do not, of one whose motion
// changes quickly few.
var scanSides = [...]int{6, 20} // frames to either side, fewer where the flight begins or ends

const (
	scanLeast    = 7   // in all
	scanGain     = 4.0 // ln of the likelihood
	scanSuspects = 6   // by the noise of all steps
	scanLocal    = 3   // by that of the step's own neighbours
	// Of so few moving frames every step is suspected of every slip.
	scanAll = 9
)

// suspects lists the slips that the neighbours of each step speak for most.
func (c *clocks) suspects(obs []Observation) []slip {
	move := inEarnest(obs)
	if len(obs)-move <= scanAll {
		return everywhere(obs, max(move, 1))
	}
	var out []slip
	for i, side := range scanSides {
		if i > 0 && len(obs)-move <= 2*scanSides[i-1] {
			break
		}
		for _, s := range c.scan(obs, move, side) {
			if !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
	}
	return out
}

// scan lists what side frames to either side of each step speak for, the best first.
func (c *clocks) scan(obs []Observation, move, side int) []slip {
	var found []scanned
	var level []float64
	for at := max(move, 1); at < len(obs); at++ {
		lo, hi := max(at-side, move-1, 0), min(at+side, len(obs))
		if hi-lo < scanLeast {
			continue
		}
		plain, dof := cubicMisfit(obs[lo:hi])
		least := plain
		for _, s := range slipsAt(obs, at) {
			if at+s.stale > hi {
				continue
			}
			moved := slipped(obs[lo:hi], []slip{{at - lo, s.lost, s.stale}}, -1, c.interval)
			misfit, _ := cubicMisfit(moved)
			found = append(found, scanned{s, plain - misfit, dof / 2 * math.Log(plain/math.Max(misfit, dof))})
			least = math.Min(least, misfit)
		}
		level = append(level, least/dof)
	}
	noise := max(median(level), 1e-3) // of the stated variance
	out := speaking(nil, found, scanSuspects, func(f scanned) float64 { return f.gain / (2 * noise) })
	return speaking(out, found, len(out)+scanLocal, func(f scanned) float64 { return f.local })
}

// scanned is a slip and by how much the weighted sum of squares about it becomes less, and ln of the
// likelihood ratio if the scatter of its neighbours is not known but at least what is stated (that of
// a normal distribution of unknown variance). Where thrust changes the misfit of a cubic is large,
// and says nothing of the noise elsewhere.
type scanned struct {
	slip
	gain, local float64
}

// speaking adds to a list, until it has most, the slips that speak says most for, the best first.
func speaking(list []slip, found []scanned, most int, speaks func(scanned) float64) []slip {
	slices.SortStableFunc(found, func(a, b scanned) int { return cmp.Compare(speaks(b), speaks(a)) })
	for _, f := range found {
		if speaks(f) < scanGain || len(list) == most {
			break
		}
		if !slices.Contains(list, f.slip) {
			list = append(list, f.slip)
		}
	}
	return list
}

func everywhere(obs []Observation, from int) []slip {
	var out []slip
	for at := from; at < len(obs); at++ {
		out = append(out, slipsAt(obs, at)...)
	}
	return out
}

// cubicMisfit is the weighted sum of squares of the heights about the best cubic in time, and how many
// degrees of freedom it has.
func cubicMisfit(obs []Observation) (ss, dof float64) {
	n := len(obs)
	mid, span := obs[n/2].T, obs[n-1].T-obs[0].T
	a, y := mat.NewDense(n, 4, nil), mat.NewVecDense(n, nil)
	for i, o := range obs {
		x, w := (o.T-mid)/span, 1/o.U
		for j, p := 0, w; j < 4; j, p = j+1, p*x {
			a.Set(i, j, p)
		}
		y.SetVec(i, w*(o.H-obs[0].H))
	}
	var qr mat.QR
	qr.Factorize(a)
	var x, r mat.VecDense
	if qr.SolveVecTo(&x, false, y) != nil {
		return 0, 1
	}
	r.MulVec(a, &x)
	r.SubVec(y, &r)
	return mat.Dot(&r, &r), math.Max(float64(n-4), 1)
}
