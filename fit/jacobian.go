package fit

import (
	"fmt"
	"math"
)

// jacobian fills s.jac at s.x.
func (s *search) jacobian() error {
	if s.p.Jacobian != nil {
		s.jac.Zero()
		s.p.Jacobian(s.x, s.jac)
	} else if err := s.differences(); err != nil {
		return err
	}
	if !finite(s.jac.RawMatrix().Data) {
		return fmt.Errorf("a derivative is not finite at %v", s.x)
	}
	return nil
}

// differences takes central differences, one-sided where one side is outside the domain.
func (s *search) differences() error {
	m := s.p.Observations
	up, down := make([]float64, m), make([]float64, m)
	at := append([]float64(nil), s.x...)
	for j, x := range s.x {
		h := math.Cbrt(0x1p-52) * max(math.Abs(x), s.size(j))
		at[j] = x + h
		s.p.Residuals(at, up)
		plus := at[j]
		at[j] = x - h
		s.p.Residuals(at, down)
		minus := at[j]
		at[j] = x
		switch {
		case finite(up) && finite(down):
		case finite(up):
			copy(down, s.r)
			minus = x
		case finite(down):
			copy(up, s.r)
			plus = x
		default:
			return fmt.Errorf("the model is not finite on either side of parameter %d = %g", j, x)
		}
		for i := range m {
			s.jac.Set(i, j, (up[i]-down[i])/(plus-minus))
		}
	}
	return nil
}

// size is the typical size of parameter j, for difference steps near zero.
func (s *search) size(j int) float64 {
	switch {
	case s.p.Scale != nil && s.p.Scale[j] != 0:
		return math.Abs(s.p.Scale[j])
	case s.p.Start[j] == 0:
		return 1
	}
	return 1e-4 * math.Abs(s.p.Start[j])
}
