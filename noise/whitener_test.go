package noise

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// covariance is that of the correlated parts of two frames, s correlation lengths apart, written
// out: Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, eq 4.17 for order 3/2
// and eq 4.18 below it for order 1/2 (from memory).
func covariance(h Hypothesis, s float64) float64 {
	if h.Rough {
		return math.Exp(-s)
	}
	return (1 + math.Sqrt(3)*s) * math.Exp(-math.Sqrt(3)*s)
}

// film is made-up frames: own uncertainties, sizes (none of the first six), places.
func film(r *rand.Rand) (own, size, along []float64) {
	s := 0.0
	for k := range 40 {
		s += 0.05 + 0.4*r.Float64()*r.Float64()
		own, along = append(own, 1e-4*(0.5+r.Float64())), append(along, s)
		if size = append(size, 0); k >= 6 {
			size[k] = 2e-4 * (0.3 + r.Float64())
		}
	}
	return own, size, along
}

// Whitened errors, their density and the correlated part agree with the dense covariance by
// Cholesky's method (gonum).
func TestWhitenerAgreesWithDenseCovariance(t *testing.T) {
	t.Parallel()
	for _, h := range []Hypothesis{{}, {Rough: true}} {
		r := rand.New(rand.NewPCG(3, 1))
		own, size, along := film(r)
		n := len(own)
		all, part := mat.NewSymDense(n, nil), mat.NewDense(n, n, nil)
		v := make([]float64, n)
		for i := range n {
			v[i] = 3e-4 * r.NormFloat64()
			for j := range n {
				c := size[i] * size[j] * covariance(h, math.Abs(along[i]-along[j]))
				part.Set(i, j, c)
				if i == j {
					c += own[i] * own[i]
				}
				all.SetSym(i, j, c)
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(all) {
			t.Fatal("singular")
		}
		var lower mat.TriDense
		chol.LTo(&lower)
		var white, inverse, want mat.VecDense
		if err := white.SolveVec(&lower, mat.NewVecDense(n, v)); err != nil {
			t.Fatal(err)
		}
		if err := chol.SolveVecTo(&inverse, mat.NewVecDense(n, v)); err != nil {
			t.Fatal(err)
		}
		want.MulVec(part, &inverse)
		w := NewWhitener(h, own, size, along)
		got, smooth := append([]float64(nil), v...), w.Correlated(v)
		w.Apply(got)
		const rounding = 1e-9
		for k := range got {
			if math.Abs(got[k]-white.AtVec(k)) > rounding || math.Abs(smooth[k]-want.AtVec(k)) > rounding*1e-4 {
				t.Errorf("rough %v, frame %d: whitened %.9g, correlated %.9g; want %.9g, %.9g", h.Rough, k, got[k], smooth[k], white.AtVec(k), want.AtVec(k))
			}
		}
		if want := chol.LogDet() / 2; math.Abs(w.LogSD-want) > rounding*float64(n) {
			t.Errorf("rough %v: log sd %.9g, want %.9g", h.Rough, w.LogSD, want)
		}
	}
}

// A step keeps the covariance and, over whatever length, has kicks that keep the process
// stationary: F F' + L L' = 1 and the first entry of F is the covariance.
func TestStepsKeepTheProcessStationary(t *testing.T) {
	t.Parallel()
	for _, h := range []Hypothesis{{}, {Rough: true}} {
		for _, d := range []float64{1e-6, 1e-3, 0.028, 0.03, 0.3, 2, 40} {
			s := h.Step(d)
			a, b := s.Kicks()
			got := [3]float64{
				s.f00*s.f00 + s.f01*s.f01 + a[0]*a[0],
				s.f00*s.f10 + s.f01*s.f11 + a[0]*a[1],
				s.f10*s.f10 + s.f11*s.f11 + a[1]*a[1] + b[1]*b[1],
			}
			want := [3]float64{1, 0, 1}
			if h.Rough {
				want[2] = 0
			}
			for i := range got {
				if math.Abs(got[i]-want[i]) > 1e-12 {
					t.Errorf("rough %v over %g: covariance entry %d = %.15g, want %g", h.Rough, d, i, got[i], want[i])
				}
			}
			if c := covariance(h, d); math.Abs(s.f00-c) > 1e-14 {
				t.Errorf("rough %v over %g: F = %.15g, want %.15g", h.Rough, d, s.f00, c)
			}
			if two := h.Step(d / 2); math.Abs(two.On(two.On(State{1, 0}))[0]-s.f00) > 1e-12 {
				t.Errorf("rough %v: two half steps over %g differ from a whole one", h.Rough, d)
			}
		}
	}
}

// Draws have the process's covariance.
func TestDrawsHaveTheCovariance(t *testing.T) {
	t.Parallel()
	const draws = 40000
	along := []float64{0, 0.2, 0.9, 2.5}
	for _, h := range []Hypothesis{{Size: 2}, {Size: 0.5, Rough: true}} {
		r := rand.New(rand.NewPCG(5, 5))
		var sum [4][4]float64
		for range draws {
			v := h.Draw(along, r)
			for i := range v {
				for j := range v {
					sum[i][j] += v[i] * v[j] / draws
				}
			}
		}
		for i := range along {
			for j := range along {
				want := h.Size * h.Size * covariance(h, math.Abs(along[i]-along[j]))
				// standard error of a covariance: sqrt(1 + rho^2)/sqrt(n) of the variance, five of
				// them
				if math.Abs(sum[i][j]-want) > 5*math.Sqrt(2./draws)*h.Size*h.Size {
					t.Errorf("%+v: covariance of %d and %d is %.4f, want %.4f", h, i, j, sum[i][j], want)
				}
			}
		}
	}
}

// The odds of a list add up to one, and only where nothing is stated is no correlation among it.
func TestHypothesesAreAPrior(t *testing.T) {
	t.Parallel()
	for _, stated := range []bool{false, true} {
		sum, none := 0.0, 0.0
		for _, h := range Hypotheses(stated) {
			sum += h.Prior
			if h.Size == 0 {
				none += h.Prior
			}
		}
		if math.Abs(sum-1) > 1e-12 || (none > 0.5) == stated {
			t.Errorf("stated %v: odds add up to %.6f, of none %.3f", stated, sum, none)
		}
	}
}
