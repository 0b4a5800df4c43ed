package fit

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// strd is one nonlinear reference set of NIST StRD (https://www.itl.nist.gov/div898/strd/,
// public domain), read from the file as NIST publishes it.
type strd struct {
	start           [2][]float64
	certified, sd   []float64
	rss, residualSD float64
	y, x            []float64
}

func readStRD(t *testing.T, name string) strd {
	t.Helper()
	file, err := os.Open(filepath.Join("testdata", name+".dat"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var s strd
	data := false
	for in := bufio.NewScanner(file); in.Scan(); {
		line := in.Text()
		f := strings.Fields(line)
		num := func(i int) float64 {
			v, err := strconv.ParseFloat(f[i], 64)
			if err != nil {
				t.Fatalf("%s: %q: %v", name, line, err)
			}
			return v
		}
		switch {
		case len(f) == 3 && f[0] == "Data:" && f[1] == "y" && f[2] == "x":
			data = true
		case data && len(f) >= 2:
			s.y = append(s.y, num(0))
			s.x = append(s.x, num(1))
		case len(f) == 6 && strings.HasPrefix(f[0], "b") && f[1] == "=":
			s.start[0] = append(s.start[0], num(2))
			s.start[1] = append(s.start[1], num(3))
			s.certified = append(s.certified, num(4))
			s.sd = append(s.sd, num(5))
		case strings.HasPrefix(line, "Residual Sum of Squares:"):
			s.rss = num(4)
		case strings.HasPrefix(line, "Residual Standard Deviation:"):
			s.residualSD = num(3)
		}
	}
	if len(s.y) == 0 {
		t.Fatalf("%s: no data found", name)
	}
	return s
}

// lre is the log relative error: about the number of digits that agree.
func lre(got, want float64) float64 {
	if got == want {
		return 15
	}
	if want == 0 {
		return -math.Log10(math.Abs(got))
	}
	return min(15, -math.Log10(math.Abs(got-want)/math.Abs(want)))
}

func checkDigits(t *testing.T, what string, got, want, digits float64) {
	t.Helper()
	if d := lre(got, want); !(d >= digits) {
		t.Errorf("%s = %.12g, want %.12g: %.1f digits agree, want %.1f", what, got, want, d, digits)
	}
}

// models are the functions of the StRD data sheets, y = f(b, x).
func models() map[string]func(b []float64, x float64) float64 {
	exp := math.Exp
	square := func(v float64) float64 { return v * v }
	return map[string]func(b []float64, x float64) float64{
		"Misra1a":  func(b []float64, x float64) float64 { return b[0] * (1 - exp(-b[1]*x)) },
		"MGH09":    func(b []float64, x float64) float64 { return b[0] * (x*x + x*b[1]) / (x*x + x*b[2] + b[3]) },
		"MGH10":    func(b []float64, x float64) float64 { return b[0] * exp(b[1]/(x+b[2])) },
		"MGH17":    func(b []float64, x float64) float64 { return b[0] + b[1]*exp(-x*b[3]) + b[2]*exp(-x*b[4]) },
		"BoxBOD":   func(b []float64, x float64) float64 { return b[0] * (1 - exp(-b[1]*x)) },
		"Rat43":    func(b []float64, x float64) float64 { return b[0] / math.Pow(1+exp(b[1]-b[2]*x), 1/b[3]) },
		"Eckerle4": func(b []float64, x float64) float64 { return b[0] / b[1] * exp(-0.5*square((x-b[2])/b[1])) },
		"Lanczos2": func(b []float64, x float64) float64 {
			return b[0]*exp(-b[1]*x) + b[2]*exp(-b[3]*x) + b[4]*exp(-b[5]*x)
		},
		"Gauss1": func(b []float64, x float64) float64 {
			return b[0]*exp(-b[1]*x) + b[2]*exp(-square(x-b[3])/square(b[4])) + b[5]*exp(-square(x-b[6])/square(b[7]))
		},
		"Thurber": func(b []float64, x float64) float64 {
			return (b[0] + x*(b[1]+x*(b[2]+x*b[3]))) / (1 + x*(b[4]+x*(b[5]+x*b[6])))
		},
	}
}

// TestStRDNonlinear: ten sets of NIST StRD nonlinear regression, from both published starts,
// with derivatives by differences. Certified values carry 11 digits; RSS of Lanczos2 rests
// on data of six digits. Digits asked for: six from the near start, four from the far one.
func TestStRDNonlinear(t *testing.T) {
	t.Parallel()
	for name, model := range models() {
		set := readStRD(t, name)
		for from, digits := range []float64{4, 6} {
			t.Run(name+"/start"+strconv.Itoa(from+1), func(t *testing.T) {
				t.Parallel()
				got, err := Minimise(Problem{
					Observations: len(set.y),
					Start:        set.start[from],
					Residuals: func(p, r []float64) {
						for i, y := range set.y {
							r[i] = y - model(p, set.x[i])
						}
					},
				}, NonlinearOptions{})
				if err != nil {
					t.Fatal(err)
				}
				t.Logf("%d iterations, %v", got.Iterations, got.Status)
				worst := 15.0
				for j, want := range set.certified {
					checkDigits(t, "b"+strconv.Itoa(j+1), got.Parameters[j], want, digits)
					checkDigits(t, "sd of b"+strconv.Itoa(j+1), got.SD(j), set.sd[j], 4)
					worst = min(worst, lre(got.Parameters[j], want))
				}
				t.Logf("worst of the parameters: %.1f digits", worst)
				checkDigits(t, "RSS", got.RSS, set.rss, digits)
				checkDigits(t, "residual sd", got.ResidualSD, set.residualSD, digits)
				if got.Status != Converged {
					t.Errorf("status = %v after %d iterations", got.Status, got.Iterations)
				}
			})
		}
	}
}

// Digits asked of the linear sets (checks.md: Norris and Longley 9, Wampler1 6).
const (
	digitsEasy    = 9
	digitsWampler = 6
)

func TestStRDLinear(t *testing.T) {
	t.Parallel()
	t.Run("Norris", func(t *testing.T) {
		t.Parallel()
		set := readStRD(t, "Norris")
		x := mat.NewDense(len(set.y), 2, nil)
		for i := range set.y {
			x.SetRow(i, []float64{1, set.x[i]})
		}
		l, err := LeastSquares(x, set.y, Options{})
		if err != nil {
			t.Fatal(err)
		}
		checkDigits(t, "B0", l.Coefficients[0], -0.262323073774029, digitsEasy)
		checkDigits(t, "B1", l.Coefficients[1], 1.00211681802045, digitsEasy)
		checkDigits(t, "sd B0", l.SD(0), 0.232818234301152, digitsEasy)
		checkDigits(t, "sd B1", l.SD(1), 0.429796848199937e-3, digitsEasy)
		checkDigits(t, "residual sd", l.ResidualSD, 0.884796396144373, digitsEasy)
		checkDigits(t, "R2", l.R2, 0.999993745883712, digitsEasy)
		checkDigits(t, "F", l.F, 5436385.54079785, digitsEasy)
	})
	t.Run("Longley", func(t *testing.T) {
		t.Parallel()
		l, err := LeastSquares(longley())
		if err != nil {
			t.Fatal(err)
		}
		for j, want := range []float64{-3482258.63459582, 15.0618722713733, -0.358191792925910e-01, -2.02022980381683,
			-1.03322686717359, -0.511041056535807e-01, 1829.15146461355} {
			checkDigits(t, "B"+strconv.Itoa(j), l.Coefficients[j], want, digitsEasy)
		}
		for j, want := range []float64{890420.383607373, 84.9149257747669, 0.334910077722432e-01, 0.488399681651699,
			0.214274163161675, 0.226073200069370, 455.478499142212} {
			checkDigits(t, "sd B"+strconv.Itoa(j), l.SD(j), want, digitsEasy)
		}
	})
	for name, coef := range map[string][]float64{
		"Wampler1": {1, 1, 1, 1, 1, 1},
		"Wampler2": {1, .1, .01, .001, .0001, .00001},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			const points = 21
			x, y := mat.NewDense(points, 6, nil), make([]float64, points)
			for i := range points {
				power := 1.0
				for j := range 6 {
					x.Set(i, j, power)
					y[i] += coef[j] * power
					power *= float64(i)
				}
			}
			if name == "Wampler1" && (y[1] != 6 || y[2] != 63 || y[3] != 364) {
				t.Fatalf("data do not start 1, 6, 63, 364: %v", y[:4])
			}
			l, err := LeastSquares(x, y, Options{})
			if err != nil {
				t.Fatal(err)
			}
			for j, want := range coef {
				checkDigits(t, "B"+strconv.Itoa(j), l.Coefficients[j], want, digitsWampler)
				t.Logf("B%d: %.1f digits", j, lre(l.Coefficients[j], want))
			}
			if math.Abs(l.R2-1) > 1e-15 {
				t.Errorf("R2 = %v, want 1", l.R2)
			}
		})
	}
}

// longley returns the data of Longley, J. Am. Stat. Assoc. 62:819 (1967), as NIST StRD
// prints them (typed in from memory; the certified coefficients check every digit).
func longley() (*mat.Dense, []float64, Options) {
	y := []float64{60323, 61122, 60171, 61187, 63221, 63639, 64989, 63761, 66019, 67857, 68169, 66513, 68655, 69564, 69331, 70551}
	x := mat.NewDense(16, 7, []float64{
		1, 83.0, 234289, 2356, 1590, 107608, 1947,
		1, 88.5, 259426, 2325, 1456, 108632, 1948,
		1, 88.2, 258054, 3682, 1616, 109773, 1949,
		1, 89.5, 284599, 3351, 1650, 110929, 1950,
		1, 96.2, 328975, 2099, 3099, 112075, 1951,
		1, 98.1, 346999, 1932, 3594, 113270, 1952,
		1, 99.0, 365385, 1870, 3547, 115094, 1953,
		1, 100.0, 363112, 3578, 3350, 116219, 1954,
		1, 101.2, 397469, 2904, 3048, 117388, 1955,
		1, 104.6, 419180, 2822, 2857, 118734, 1956,
		1, 108.4, 442769, 2936, 2798, 120445, 1957,
		1, 110.8, 444546, 4681, 2637, 121950, 1958,
		1, 112.6, 482704, 3813, 2552, 123366, 1959,
		1, 114.2, 502601, 3931, 2514, 125368, 1960,
		1, 115.7, 518173, 4806, 2572, 127852, 1961,
		1, 116.9, 554894, 4007, 2827, 130081, 1962,
	})
	return x, y, Options{}
}
