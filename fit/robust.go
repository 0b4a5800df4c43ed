package fit

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Tuning constants that give 95 % efficiency at the normal distribution, in units of the
// scale (Holland & Welsch, Commun. Stat. A6:813, 1977), and the factor that makes the MAD of
// normal data its standard deviation, 1/Φ⁻¹(3/4).
const (
	huberTuning = 1.345
	tukeyTuning = 4.685
	madToSD     = 1.482602218505602
)

// Median returns the middle of x (the mean of the two middle ones), NaN-free x assumed; x is
// left as it is. The median of nothing is an error of the caller: it returns 0.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := slices.Clone(x)
	slices.Sort(s)
	h := len(s) / 2
	if len(s)%2 == 1 {
		return s[h]
	}
	return s[h-1] + (s[h]-s[h-1])/2
}

// MAD returns the median and 1.4826 times the median absolute deviation from it: for
// normal data an estimate of the standard deviation that survives outliers in up to half of
// it (Hampel, J. Am. Stat. Assoc. 69:383, 1974).
func MAD(x []float64) (median, sd float64) {
	median = Median(x)
	d := make([]float64, len(x))
	for i, v := range x {
		d[i] = math.Abs(v - median)
	}
	return median, madToSD * Median(d)
}

// Location is a robust mean.
type Location struct {
	Value float64
	U     float64 // standard uncertainty of Value; asymptotic, good from about ten values on
	Scale float64 // of one observation: 1.4826 MAD
}

// HuberLocation returns the M-estimate of location that weighs observations beyond 1.345
// scales down like 1/distance. It needs two or more finite values; where more than half of
// them are equal, that value is the answer and the scale is zero.
// Source: Huber, Robust Statistics (1981), 3.2 and 6.
func HuberLocation(x []float64) (Location, error) { return locate(x, huberWeight) }

// TukeyLocation is the same with the biweight, which leaves observations beyond 4.685
// scales out altogether (Beaton & Tukey, Technometrics 16:147, 1974).
func TukeyLocation(x []float64) (Location, error) { return locate(x, tukeyWeight) }

// weight gives the weight at z scales and the derivative of psi(z) = z*weight(z) there.
type weight func(z float64) (w, slope float64)

func huberWeight(z float64) (w, slope float64) {
	if a := math.Abs(z); a > huberTuning {
		return huberTuning / a, 0
	}
	return 1, 1
}

func tukeyWeight(z float64) (w, slope float64) {
	u := z / tukeyTuning
	if math.Abs(u) >= 1 {
		return 0, 0
	}
	v := 1 - u*u
	return v * v, v * (1 - 5*u*u)
}

// settle is how little, in scales, an iteration may move before it ends, and how many
// iterations there are at most.
const (
	settle    = 1e-10
	maxSettle = 200
)

func locate(x []float64, f weight) (Location, error) {
	if len(x) < 2 || !finite(x) {
		return Location{}, fmt.Errorf("find a robust mean: %d values, or one that is not finite", len(x))
	}
	at, scale := MAD(x)
	if scale == 0 {
		return Location{Value: at}, nil
	}
	for range maxSettle {
		var sw, swx float64
		for _, v := range x {
			w, _ := f((v - at) / scale)
			sw += w
			swx += w * (v - at)
		}
		at += swx / sw
		if math.Abs(swx/sw) <= settle*scale {
			break
		}
	}
	u := scale * psiRatio(x, at, scale, f) / math.Sqrt(float64(len(x)))
	return Location{Value: at, U: u, Scale: scale}, nil
}

// psiRatio is sqrt(mean psi²)/mean psi': an M-estimate's standard deviation relative to that
// of one scaled observation over sqrt(n) (Huber 1981, 6.5), with n-1 in the numerator.
func psiRatio(x []float64, at, scale float64, f weight) float64 {
	var squares, slopes float64
	for _, v := range x {
		z := (v - at) / scale
		w, slope := f(z)
		squares += z * w * z * w
		slopes += slope
	}
	n := float64(len(x))
	if slopes <= 0 {
		return 1
	}
	return math.Sqrt(squares/(n-1)) / (slopes / n)
}

// Line is y = Intercept + Slope*x.
type Line struct {
	Intercept, Slope   float64
	UIntercept, USlope float64 // standard uncertainties, asymptotic
	Covariance         float64 // of the two
	Scale              float64 // of one observation: 1.4826 MAD of the residuals of the first line
	Weights            []float64
}

// RobustLine fits a line that up to 29 % outliers, wild in y or in x, do not bend: it
// starts from the line of median slope (Theil 1950; Sen, J. Am. Stat. Assoc. 63:1379, 1968)
// and improves it with Tukey's biweight at the scale of that line's residuals. It needs
// three points and two different x; O(n²) for the start, so thin out above a few thousand.
func RobustLine(x, y []float64) (*Line, error) {
	if len(x) != len(y) || len(x) < 3 || !finite(x) || !finite(y) {
		return nil, fmt.Errorf("fit a robust line: %d x and %d y values, or one that is not finite", len(x), len(y))
	}
	slope, ok := medianSlope(x, y)
	if !ok {
		return nil, fmt.Errorf("fit a robust line: all x are equal: %w", ErrRank)
	}
	rest := make([]float64, len(x))
	for i := range x {
		rest[i] = y[i] - slope*x[i]
	}
	intercept, scale := MAD(rest)
	l := &Line{Intercept: intercept, Slope: slope, Scale: scale, Weights: make([]float64, len(x))}
	for i := range l.Weights {
		l.Weights[i] = 1
	}
	if scale <= 1e-14*math.Abs(intercept) {
		return l, nil // more than half lie on the line exactly
	}
	return l, l.improve(x, y)
}

// medianSlope is the median of the slopes of all pairs with different x.
func medianSlope(x, y []float64) (float64, bool) {
	var slopes []float64
	for i := range x {
		for j := i + 1; j < len(x); j++ {
			if x[i] != x[j] {
				slopes = append(slopes, (y[j]-y[i])/(x[j]-x[i]))
			}
		}
	}
	return Median(slopes), len(slopes) > 0
}

// improve iterates weighted least squares with Tukey's weights at the fixed scale.
func (l *Line) improve(x, y []float64) error {
	design := mat.NewDense(len(x), 2, nil)
	for i, v := range x {
		design.SetRow(i, []float64{1, v})
	}
	var fitted *Linear
	for range maxSettle {
		for i := range x {
			l.Weights[i], _ = tukeyWeight((y[i] - l.Intercept - l.Slope*x[i]) / l.Scale)
		}
		var err error
		if fitted, err = LeastSquares(design, y, Options{Weights: l.Weights}); err != nil {
			return fmt.Errorf("fit a robust line: %w", err)
		}
		var moved float64
		for _, v := range x {
			moved = max(moved, math.Abs(fitted.Coefficients[0]-l.Intercept+(fitted.Coefficients[1]-l.Slope)*v))
		}
		l.Intercept, l.Slope = fitted.Coefficients[0], fitted.Coefficients[1]
		if moved <= settle*l.Scale {
			break
		}
	}
	l.spread(x, y, design)
	return nil
}

// spread sets the covariance (scale·psiRatio)² (XᵀX)⁻¹ over the points that count, Huber
// 1981, 7.6. Points of weight zero do not count.
func (l *Line) spread(x, y []float64, design *mat.Dense) {
	kept := make([]float64, len(x))
	var residuals []float64
	for i := range x {
		if l.Weights[i] > 0 {
			kept[i] = 1
			residuals = append(residuals, y[i]-l.Intercept-l.Slope*x[i])
		}
	}
	n := float64(len(residuals))
	s := l.Scale * psiRatio(residuals, 0, l.Scale, tukeyWeight) * math.Sqrt((n-1)/max(1, n-2))
	var sx, sxx float64
	for i, v := range x {
		sx += kept[i] * v
	}
	mean := sx / n
	for i, v := range x {
		sxx += kept[i] * (v - mean) * (v - mean)
	}
	if sxx == 0 {
		return
	}
	l.USlope = s / math.Sqrt(sxx)
	l.UIntercept = s * math.Sqrt(1/n+mean*mean/sxx)
	l.Covariance = -s * s * mean / sxx
}
