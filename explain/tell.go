package explain

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"

	"padside/fault"
	"padside/metrology"
)

const (
	// tangledAt is the correlation from which two unknowns are said not to be told apart.
	tangledAt = 0.95
	// hardlyAt is the one from which that is said however well both are known: what tells them is a small difference between large effects.
	hardlyAt = 0.99
	// looseAt is the share of what was possible beforehand from which an unknown counts as loose: tangled ones that are well known each
	// need no word.
	looseAt = 0.1
	// leastWorth is the share of the draws that must be of use for them to be trusted.
	leastWorth = 0.1
)

// judge says in words what the fit cannot.
func (r *Result) judge(worth float64) {
	r.misfit()
	said := map[int]bool{}
	for j := range r.Unknowns {
		for i := range j {
			if r.Unknowns[i].U > 0 && r.Unknowns[j].U > 0 {
				continue // both are stated: the footage need not tell them
			}
			if c := r.Correlation[j][i]; math.Abs(c) > hardlyAt || math.Abs(c) > tangledAt && r.loose(i) && r.loose(j) {
				said[i], said[j] = true, true
				way := "raising one and lowering the other"
				if c > 0 {
					way = "raising or lowering both"
				}
				r.warn("cannot-tell-apart", "the footage hardly tells %s and %s apart (correlation %.3f): %s fits nearly as well%s; state one of them in the flight file with its uncertainty, or film more of the flight",
					words(r.Unknowns[i].Key), words(r.Unknowns[j].Key), c, way, r.together([]int{i, j}))
			}
		}
	}
	r.bundles(said)
	say := r.problem.in.say
	for j, u := range r.Unknowns {
		f := r.Fitted[j]
		switch {
		case u.U == 0 && !f.Told:
			r.warn("not-told", "the footage says nearly nothing of %s: anything from %s to %s is possible and most of that fits; state it in the flight file with its uncertainty", words(u.Key), say(u.Key, u.Least), say(u.Key, u.Most))
		case u.U > 0 && math.Abs(f.Value-u.Start) > 3*math.Hypot(u.U, f.U):
			r.warn("against-the-file", "the footage wants %s at %s, which is %.1f standard uncertainties from the %s that the flight file states: check that, and the scale",
				words(u.Key), say(u.Key, f.Value), math.Abs(f.Value-u.Start)/math.Hypot(u.U, f.U), say(u.Key, u.Start))
		case u.U == 0 && (f.Value < u.Least+0.02*(u.Most-u.Least) || f.Value > u.Most-0.02*(u.Most-u.Least)):
			r.warn("at-limit", "%s lies at the edge of what is possible (%s to %s): something else is off, such as pressure, masses or scale", words(u.Key), say(u.Key, u.Least), say(u.Key, u.Most))
		}
	}
	if worth < leastWorth {
		r.warn("few-draws", "the draws behind the intervals are worth %.0f of their %d: the intervals are rough; state more inputs in the flight file", worth*drawn, drawn)
	}
}

// loose says whether much of what was possible of an unknown beforehand still is.
func (r *Result) loose(j int) bool {
	u := &r.Unknowns[j]
	if u.U > 0 {
		return r.Fitted[j].U > 0.7*u.U && u.U > looseAt*u.flat()
	}
	return r.Fitted[j].U > looseAt*u.flat()
}

// misfit says what the residual test found.
func (r *Result) misfit() {
	t := &r.Test
	if !t.Fits {
		r.warn("does-not-fit", "the model does not fit: slow waves of %.2g mm (rms) remain in the residuals, %.1f times the noise of a frame, and more than the trace may err by; what it would say of its inputs is not to be trusted", 1e3*t.Smooth, t.Smooth/t.Noise)
	}
	if t.Aside > 0 {
		r.warn("set-aside", "%d of %d frames lie far off all others and were set aside", t.Aside, t.Aside+t.Frames)
	}
}

// bundles names unknowns that no other alone resembles, but several together do: their variance given all others is a small part of
// their own. Unknowns that are stated with an uncertainty are left out: the budget says what those do.
func (r *Result) bundles(said map[int]bool) {
	var free []int
	for j, u := range r.Unknowns {
		if u.U == 0 {
			free = append(free, j)
		}
	}
	n := len(free)
	if n < 3 {
		return
	}
	c := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			c.SetSym(i, j, r.Correlation[free[i]][free[j]])
		}
		c.SetSym(i, i, 1+1e-9)
	}
	var chol mat.Cholesky
	var inverse mat.SymDense
	if !chol.Factorize(c) || chol.InverseTo(&inverse) != nil {
		return
	}
	for j := range n {
		if said[free[j]] || !r.loose(free[j]) || inverse.At(j, j) < 1/(1-tangledAt*tangledAt) {
			continue
		}
		var with []string
		all := []int{free[j]}
		for i := range n {
			if partial := -inverse.At(i, j) / math.Sqrt(inverse.At(i, i)*inverse.At(j, j)); i != j && math.Abs(partial) > 0.5 {
				with = append(with, words(r.Unknowns[free[i]].Key))
				all, said[free[i]] = append(all, free[i]), true
			}
		}
		said[free[j]] = true
		if len(with) > 0 {
			r.warn("cannot-tell-apart", "the footage hardly tells %s from %s together: changing all of them fits nearly as well%s; state one in the flight file with its uncertainty", words(r.Unknowns[free[j]].Key), strings.Join(with, " and "), r.together(all))
		}
	}
}

// together words what the footage does tell of unknowns that it cannot tell apart: the product of powers of them, the first with power one, that the
// draws agree on best (least squares of its logarithm on theirs), and how far it can be off. It is empty where one of them may be zero.
func (r *Result) together(which []int) string {
	n, m := len(r.Draws), len(which)
	a, b := mat.NewDense(n, m, nil), mat.NewDense(n, 1, nil)
	for i, d := range r.Draws {
		for k, j := range which {
			if !(r.Unknowns[j].Least > 0) {
				return ""
			}
			v := math.Log(d[j] / r.Values[j])
			if k == 0 {
				b.Set(i, 0, v)
				v = 1
			}
			a.Set(i, k, v)
		}
	}
	var x, left mat.Dense
	if x.Solve(a, b) != nil {
		return ""
	}
	left.Mul(a, &x)
	left.Sub(b, &left)
	iv, err := metrology.ShortestInterval(mat.Col(nil, 0, &left), 0.95)
	if err != nil {
		return ""
	}
	var text strings.Builder
	for k, j := range which {
		power := 1.0
		if k > 0 {
			power = -x.At(k, 0)
			if math.Abs(power) < 0.05 {
				continue
			}
			text.WriteString(" times ")
		}
		text.WriteString(words(r.Unknowns[j].Key))
		if math.Abs(power-1) >= 0.05 {
			fmt.Fprintf(&text, " to the power %.2g", power)
		}
	}
	return fmt.Sprintf(". What it does tell is %s, to %.2g %% (95 %%)", text.String(), 100*math.Max(-iv.Lo, iv.Hi))
}

func words(key string) string { return strings.ReplaceAll(key, "_", " ") }

func (r *Result) warn(code, format string, args ...any) {
	r.Warnings = append(r.Warnings, fault.Warning{Code: code, Message: fmt.Sprintf(format, args...)})
}
