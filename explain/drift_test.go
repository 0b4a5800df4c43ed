package explain

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestWhitener: whitened errors and the drift they show agree with the dense covariance of noise and drift.
func TestWhitener(t *testing.T) {
	t.Parallel()
	for _, rough := range []bool{false, true} {
		agree(t, rough)
	}
}

func agree(t *testing.T, rough bool) {
	r := rand.New(rand.NewPCG(3, 1))
	l := &launch{rest: 8, moving: 6, noise: [2]float64{0.7, 1.3}, drift: drift{size: 2e-4, length: 0.02, rough: rough}}
	for k := range 40 {
		l.t, l.u = append(l.t, 0.01*float64(k)+0.004*r.Float64()), append(l.u, 1e-4*(0.5+r.Float64()))
	}
	l.drift.along = l.t
	n, from := len(l.t), l.moving
	all, slow := mat.NewSymDense(n, nil), mat.NewDense(n, n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			c := 0.0
			if i >= from {
				x := math.Abs(l.t[i]-l.t[j]) / l.drift.length
				c = l.drift.size * l.drift.size * math.Exp(-x)
				if !rough {
					x *= math.Sqrt(3)
					c = l.drift.size * l.drift.size * (1 + x) * math.Exp(-x)
				}
			}
			slow.Set(i, j, c)
			slow.Set(j, i, c)
			if i == j {
				c += l.sd(i) * l.sd(i)
			}
			all.SetSym(i, j, c)
		}
	}
	v := make([]float64, n)
	for k := range v {
		v[k] = 3e-4 * r.NormFloat64()
	}
	var chol mat.Cholesky
	if !chol.Factorize(all) {
		t.Fatal("singular")
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	var white, inverse, drifted mat.VecDense
	if err := white.SolveVec(&lower, mat.NewVecDense(n, v)); err != nil {
		t.Fatal(err)
	}
	if err := chol.SolveVecTo(&inverse, mat.NewVecDense(n, v)); err != nil {
		t.Fatal(err)
	}
	drifted.MulVec(slow, &inverse)
	w := l.whitener()
	got := append([]float64(nil), v...)
	w.apply(got)
	wander := l.wandered(v)
	const rounding = 1e-9
	for k := range got {
		if math.Abs(got[k]-white.AtVec(k)) > rounding || math.Abs(wander[k]-drifted.AtVec(k)) > rounding*1e-4 {
			t.Errorf("observation %d: whitened %.9g, drift %.9g; want %.9g, %.9g", k, got[k], wander[k], white.AtVec(k), drifted.AtVec(k))
		}
	}
	if want := chol.LogDet() / 2; math.Abs(w.logSD-want) > rounding*float64(n) {
		t.Errorf("log sd %.9g, want %.9g", w.logSD, want)
	}
}
