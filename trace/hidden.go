package trace

import (
	"math"

	"padside/register"
	"padside/stabilise"
)

// hidden is how far, px, the reference may move along the flight before the change is coded, by the
// step q of the coefficients: a block whose slopes along the flight have the root of the sum of
// squares e changes by e per px. Blocks count by the squares of their slopes, as they do in a
// match.
func (r *refiner) hidden(q float64) float64 {
	var sum, squares float64
	W := r.patchW + 2*register.Margin
	for y := 0; y+stabilise.BlockSide <= r.patchH; y += stabilise.BlockSide {
		for x := 0; x+stabilise.BlockSide <= r.patchW; x += stabilise.BlockSide {
			var power float64
			for k := range stabilise.BlockSide * stabilise.BlockSide {
				u, v := x+k%stabilise.BlockSide, y+k/stabilise.BlockSide
				at := (v+register.Margin)*W + u + register.Margin
				w := float64(r.patch.Weight[v*r.patchW+u])
				gx, gy := float64(r.patch.Pix[at+1]-r.patch.Pix[at-1])/2, float64(r.patch.Pix[at+W]-r.patch.Pix[at-W])/2
				g := gx*r.line.Ux + gy*r.line.Uy
				power += g * g * min(1, w)
			}
			sum, squares = sum+math.Sqrt(power), squares+power
		}
	}
	if squares == 0 {
		return 0
	}
	return q * sum / squares
}
