package shoot

import (
	"errors"
	"fmt"

	"padside/fit"
)

// Timed is a mode whose rate is known.
type Timed struct {
	Rows int
	Rate float64 // Hz
}

// Readout is how long a sensor takes for a picture. It is read row by row, so the time of a picture grows evenly with its rows,
//
//	1/rate = overhead + rows * line
//
// by least squares over two known modes or more of one width. Common practice for sensors read by rows; no source.
type Readout struct{ times *fit.Polynomial }

// NewReadout fits the model. The modes must differ in rows, and more rows must take longer.
func NewReadout(known []Timed) (Readout, error) {
	if len(known) < 2 {
		return Readout{}, fmt.Errorf("two known rates are needed, there is %d", len(known))
	}
	var rows, times, sigma []float64
	for _, k := range known {
		rows, times, sigma = append(rows, float64(k.Rows)), append(times, 1/k.Rate), append(sigma, 1e-6) // alike; its size does not matter
	}
	line, err := fit.FitPolynomial(rows, times, 1, fit.Options{Sigma: sigma})
	if err != nil {
		return Readout{}, errors.New("the known rates must differ in rows")
	}
	if perRow, _ := line.At(0, 1); !(perRow > 0) {
		return Readout{}, errors.New("more rows must take longer")
	}
	return Readout{line}, nil
}

// Rate returns how often a picture of so many rows can be taken, Hz; ok is false where the line reaches no time above zero.
func (r Readout) Rate(rows int) (hz float64, ok bool) {
	t, _ := r.times.At(float64(rows), 0)
	return 1 / t, t > 0
}
