package fit

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// exactly is the tolerance of identities in float64 after a short computation.
const exactly = 1e-10

func closeTo(got, want, rel float64) bool {
	return math.Abs(got-want) <= rel*math.Max(math.Abs(want), 1e-300)
}

// thermometer returns the calibration data of GUM (JCGM 100:2008) H.3, table H.6: reading t
// (degC) less 20 degC and correction b (degC).
func thermometer() (x *mat.Dense, b []float64) {
	t := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	b = []float64{-.171, -.169, -.166, -.159, -.164, -.165, -.156, -.157, -.159, -.161, -.160}
	x = mat.NewDense(len(t), 2, nil)
	for i, v := range t {
		x.SetRow(i, []float64{1, v - 20})
	}
	return x, b
}

// TestThermometer: GUM H.3. The printed results are y1 = -0.1712(29), y2 = 0.00218(67),
// r = -0.930, s = 0.0035, b(30 degC) = -0.1494(41); further digits recomputed.
func TestThermometer(t *testing.T) {
	t.Parallel()
	x, b := thermometer()
	l, err := LeastSquares(x, b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	b30, u30 := l.Predict([]float64{1, 10})
	const digits = 1e-5 // of the recomputed figures
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"y1", l.Coefficients[0], -0.17120379},
		{"y2", l.Coefficients[1], 0.0021826977},
		{"u(y1)", l.SD(0), 0.0028776},
		{"u(y2)", l.SD(1), 0.00066794},
		{"r", l.Covariance.At(0, 1) / l.SD(0) / l.SD(1), -0.930430},
		{"s", l.ResidualSD, 0.00349756},
		{"RSS", l.RSS, 1.10096583e-4},
		{"b(30)", b30, -0.14937681},
		{"u(b(30))", u30, 0.0041386},
	} {
		if !closeTo(c.got, c.want, digits) {
			t.Errorf("%s = %.8g, want %.8g", c.name, c.got, c.want)
		}
	}
	if l.Dof != 9 {
		t.Errorf("dof = %d, want 9", l.Dof)
	}
	// The trap: without the covariance term it would be 0.0073.
	if trap := math.Hypot(l.SD(0), 10*l.SD(1)); !closeTo(trap, 0.0073, 0.01) || trap < 1.5*u30 {
		t.Errorf("u(b(30)) without covariance = %v, want 0.0073", trap)
	}
}

func TestWeightsAndSigma(t *testing.T) {
	t.Parallel()
	x, b := thermometer()
	plain, err := LeastSquares(x, b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	const sigma = 0.0035
	s, w := make([]float64, len(b)), make([]float64, len(b))
	for i := range b {
		s[i], w[i] = sigma, 7
	}
	given, err := LeastSquares(x, b, Options{Sigma: s})
	if err != nil {
		t.Fatal(err)
	}
	weighted, err := LeastSquares(x, b, Options{Weights: w})
	if err != nil {
		t.Fatal(err)
	}
	if !closeTo(given.RSS, plain.RSS/(sigma*sigma), exactly) || !closeTo(given.SD(1), plain.SD(1)/plain.ResidualSD*sigma, exactly) {
		t.Errorf("with sigma: chi2 = %v, u = %v", given.RSS, given.SD(1))
	}
	if !closeTo(weighted.SD(1), plain.SD(1), exactly) || !closeTo(weighted.R2, plain.R2, exactly) || !closeTo(weighted.F, plain.F, exactly) {
		t.Errorf("equal weights change the result: %+v, want %+v", weighted, plain)
	}
	// A weight of zero is the same as leaving the row out.
	w[4] = 0
	left, err := LeastSquares(x, b, Options{Weights: w})
	if err != nil {
		t.Fatal(err)
	}
	var rows []float64
	var rest []float64
	for i := range b {
		if i != 4 {
			rows = append(rows, 1, x.At(i, 1))
			rest = append(rest, b[i])
		}
	}
	without, err := LeastSquares(mat.NewDense(len(rest), 2, rows), rest, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !closeTo(left.Coefficients[1], without.Coefficients[1], exactly) || !closeTo(left.SD(1), without.SD(1), exactly) || left.Dof != without.Dof {
		t.Errorf("weight zero = %+v, want %+v", left, without)
	}
}

func TestLeastSquaresRefuses(t *testing.T) {
	t.Parallel()
	line := mat.NewDense(3, 2, []float64{1, 1, 1, 2, 1, 3})
	for _, c := range []struct {
		name string
		x    *mat.Dense
		y    []float64
		o    Options
		says string
	}{
		{"rank", mat.NewDense(3, 2, []float64{1, 2, 1, 2, 1, 2}), []float64{1, 2, 3}, Options{}, "tell the parameters apart"},
		{"few", mat.NewDense(2, 2, []float64{1, 1, 1, 2}), []float64{1, 2}, Options{}, "too few"},
		{"lengths", line, []float64{1, 2}, Options{}, "3 rows for 2"},
		{"NaN", line, []float64{1, math.NaN(), 3}, Options{}, "not finite"},
		{"both", line, []float64{1, 2, 3}, Options{Sigma: []float64{1, 1, 1}, Weights: []float64{1, 1, 1}}, "both"},
		{"sigma zero", line, []float64{1, 2, 3}, Options{Sigma: []float64{1, 0, 1}}, "is 0"},
		{"weights", line, []float64{1, 2, 3}, Options{Weights: []float64{1, -1, 1}}, "is -1"},
		{"zero weights", line, []float64{1, 2, 3}, Options{Weights: []float64{0, 0, 1}}, "too few"},
	} {
		if _, err := LeastSquares(c.x, c.y, c.o); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error = %v, want %q", c.name, err, c.says)
		}
	}
	// Two observations of known uncertainty do determine a line.
	if l, err := LeastSquares(mat.NewDense(2, 2, []float64{1, 0, 1, 2}), []float64{1, 2}, Options{Sigma: []float64{1, 1}}); err != nil || !closeTo(l.SD(1), math.Sqrt2/2, exactly) {
		t.Errorf("line through two points = %+v, %v", l, err)
	}
}

// TestUnitsDoNotMatter: scaling a column by 10^±12 scales its coefficient and nothing else.
func TestUnitsDoNotMatter(t *testing.T) {
	t.Parallel()
	x, b := thermometer()
	plain, err := LeastSquares(x, b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, unit := range []float64{1e-12, 1e12} {
		scaled := mat.DenseCopyOf(x)
		for i := range b {
			scaled.Set(i, 1, x.At(i, 1)*unit)
		}
		l, err := LeastSquares(scaled, b, Options{})
		if err != nil || !closeTo(l.Coefficients[1]*unit, plain.Coefficients[1], exactly) || !closeTo(l.SD(1)*unit, plain.SD(1), exactly) {
			t.Errorf("unit %g: %+v, %v", unit, l, err)
		}
	}
}

// TestPolynomialVariances: closed forms of the variance of speed and acceleration from N
// positions spaced dt, sd sigma. DERIVED, checked against the inverse of the normal
// equations; also Brookner, Tracking and Kalman Filtering Made Easy (1998), and Morrison,
// Introduction to Sequential Smoothing and Prediction (1969), both from memory.
func TestPolynomialVariances(t *testing.T) {
	t.Parallel()
	const sigma, dt = 0.1e-3, 1e-3
	for _, n := range []int{5, 7, 11, 21, 51, 101} {
		x, y, s := make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range n {
			x[i], s[i] = 5+float64(i)*dt, sigma
			y[i] = 3 + 20*x[i] + 250*x[i]*x[i]
		}
		line, err := FitPolynomial(x, y, 1, Options{Sigma: s})
		if err != nil {
			t.Fatal(err)
		}
		curve, err := FitPolynomial(x, y, 2, Options{Sigma: s})
		if err != nil {
			t.Fatal(err)
		}
		N := float64(n)
		middle, end := x[n/2], x[n-1]
		_, atMiddle := curve.At(middle, 1)
		_, atEnd := curve.At(end, 1)
		_, acceleration := curve.At(middle, 2)
		_, position := line.At(end, 0)
		_, lineSpeed := line.At(middle, 1)
		speed := 12 * sigma * sigma / (dt * dt * N * (N*N - 1))
		for _, c := range []struct {
			name      string
			u         float64
			wantValue float64
		}{
			{"speed at mid-span, line", lineSpeed, speed},
			{"speed at mid-span, parabola", atMiddle, speed},
			{"speed at the end, parabola", atEnd, speed * (2*N - 1) * (8*N - 11) / (N*N - 4)},
			{"acceleration", acceleration, 720 * sigma * sigma / (dt * dt * dt * dt * N * (N*N - 1) * (N*N - 4))},
			{"position at the end, line", position, 2 * (2*N - 1) * sigma * sigma / (N * (N + 1))},
		} {
			if !closeTo(c.u*c.u, c.wantValue, exactly) {
				t.Errorf("N = %d: variance of %s = %v, want %v", n, c.name, c.u*c.u, c.wantValue)
			}
		}
		if v, _ := curve.At(middle, 1); !closeTo(v, 20+500*middle, exactly) {
			t.Errorf("N = %d: speed = %v, want %v", n, v, 20+500*middle)
		}
		if n == 21 { // the published example: 0.0036 and 0.0138 m/s, 1.34 m/s2
			const asPrinted = 0.012
			if !closeTo(atMiddle, 0.0036, asPrinted) || !closeTo(atEnd, 0.0138, asPrinted) || !closeTo(acceleration, 1.34, asPrinted) {
				t.Errorf("example: %v, %v m/s, %v m/s2", atMiddle, atEnd, acceleration)
			}
		}
	}
	if _, err := FitPolynomial([]float64{1, 1, 1, 1}, []float64{1, 2, 3, 4}, 1, Options{}); !errors.Is(err, ErrRank) {
		t.Errorf("a line through one x = %v, want ErrRank", err)
	}
}

// TestSlopeIntervalsHold: the 68 % interval of the slope, by the residuals' own scatter and
// 9 degrees of freedom, holds the truth as often as Student's t says.
func TestSlopeIntervalsHold(t *testing.T) {
	t.Parallel()
	const runs, factor, want = 4000, 2.262, 0.95 // t95(9) = 2.262, GUM table G.2
	r := rand.New(rand.NewPCG(11, 0))
	x, _ := thermometer()
	y := make([]float64, 11)
	held := 0
	for range runs {
		for i := range y {
			y[i] = -0.17 + 0.002*x.At(i, 1) + 0.0035*r.NormFloat64()
		}
		l, err := LeastSquares(x, y, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(l.Coefficients[1]-0.002) <= factor*l.SD(1) {
			held++
		}
	}
	if got, slack := float64(held)/runs, 4*math.Sqrt(want*(1-want)/runs); math.Abs(got-want) > slack {
		t.Errorf("held %v of the time, want %v ± %v", got, want, slack)
	}
}
