package register

import "math"

// Invert replaces the leading n by n part of a symmetric positive definite matrix by its
// inverse (Gauss-Jordan on the matrix scaled to a unit diagonal). It reports failure where a
// pivot falls below 1e-9: regressors that are nearly the same.
func Invert(a *[MaxTerms * MaxTerms]float64, n int) bool {
	var s [MaxTerms]float64
	for i := range n {
		d := a[i*MaxTerms+i]
		if !(d > 0) {
			return false
		}
		s[i] = 1 / math.Sqrt(d)
	}
	for i := range n {
		for j := range n {
			a[i*MaxTerms+j] *= s[i] * s[j]
		}
	}
	for p := range n {
		d := a[p*MaxTerms+p]
		if d < 1e-9 {
			return false
		}
		a[p*MaxTerms+p] = 1
		for j := range n {
			a[p*MaxTerms+j] /= d
		}
		for i := range n {
			if i == p {
				continue
			}
			f := a[i*MaxTerms+p]
			a[i*MaxTerms+p] = 0
			for j := range n {
				a[i*MaxTerms+j] -= f * a[p*MaxTerms+j]
			}
		}
	}
	for i := range n {
		for j := range n {
			a[i*MaxTerms+j] *= s[i] * s[j]
		}
	}
	return true
}

// dot is the sum of a[k] b[k], in four running sums so that rounding stays small.
func dot(a, b []float32) float64 {
	var s0, s1, s2, s3 float32
	var total float64
	b = b[:len(a)]
	k := 0
	for ; k+4 <= len(a); k += 4 {
		s0 += a[k] * b[k]
		s1 += a[k+1] * b[k+1]
		s2 += a[k+2] * b[k+2]
		s3 += a[k+3] * b[k+3]
		if k&255 == 252 {
			total += float64(s0 + s1 + s2 + s3)
			s0, s1, s2, s3 = 0, 0, 0, 0
		}
	}
	total += float64(s0 + s1 + s2 + s3)
	for ; k < len(a); k++ {
		total += float64(a[k] * b[k])
	}
	return total
}

// squares is the sum of w[k] a[k] a[k], summed as dot does.
func squares(w, a []float32) float64 {
	var s0, s1, s2, s3 float32
	var total float64
	w = w[:len(a)]
	k := 0
	for ; k+4 <= len(a); k += 4 {
		s0 += w[k] * a[k] * a[k]
		s1 += w[k+1] * a[k+1] * a[k+1]
		s2 += w[k+2] * a[k+2] * a[k+2]
		s3 += w[k+3] * a[k+3] * a[k+3]
		if k&255 == 252 {
			total += float64(s0 + s1 + s2 + s3)
			s0, s1, s2, s3 = 0, 0, 0, 0
		}
	}
	total += float64(s0 + s1 + s2 + s3)
	for ; k < len(a); k++ {
		total += float64(w[k] * a[k] * a[k])
	}
	return total
}
