// Command subpixel prints how well trace measures a shift between two pictures: its bias at every twentieth of
// a pixel, on a texture that is evaluated and not interpolated, and its noise against the Cramer-Rao bound.
//
//	go run ./bench/subpixel
package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"padside/register"
)

const side = 72

// blobs is a sum of Gaussian blobs: known everywhere.
type blobs struct{ x, y, s, a []float64 }

// at returns value and gradient.
func (t *blobs) at(x, y float64) (v, gx, gy float64) {
	v = 120
	for i := range t.x {
		dx, dy := x-t.x[i], y-t.y[i]
		s2 := t.s[i] * t.s[i]
		e := t.a[i] * math.Exp(-(dx*dx+dy*dy)/(2*s2))
		v += e
		gx -= e * dx / s2
		gy -= e * dy / s2
	}
	return v, gx, gy
}

// draw samples the texture moved by (dx, dy), with noise.
func (t *blobs) draw(dx, dy, sigma float64, r *rand.Rand) []float32 {
	out := make([]float32, side*side)
	for i := range out {
		v, _, _ := t.at(float64(i%side)-(side-1)/2.0-dx, float64(i/side)-(side-1)/2.0-dy)
		out[i] = float32(v + sigma*r.NormFloat64())
	}
	return out
}

// bound is the Cramer-Rao bound of the shift along x over the matched part, with a known reference:
// sigma² Syy / (Sxx Syy - Sxy²) (Robinson & Milanfar, IEEE Trans. Image Process. 13:1185, 2004).
func (t *blobs) bound(sigma float64) float64 {
	var xx, xy, yy float64
	for y := 16; y < side-16; y++ {
		for x := 16; x < side-16; x++ {
			_, gx, gy := t.at(float64(x)-(side-1)/2.0, float64(y)-(side-1)/2.0)
			xx += gx * gx
			xy += gx * gy
			yy += gy * gy
		}
	}
	return sigma * math.Sqrt(yy/(xx*yy-xy*xy))
}

func main() {
	r := rand.New(rand.NewPCG(1, 2))
	fine := &blobs{}
	for range 160 {
		fine.x, fine.y = append(fine.x, (r.Float64()-0.5)*side), append(fine.y, (r.Float64()-0.5)*side)
		fine.s, fine.a = append(fine.s, 1+1.5*r.Float64()), append(fine.a, 80*(r.Float64()-0.5))
	}
	fmt.Println("bias, texture of blobs with s = 1 to 2.5 px, no noise (px)")
	ref := fine.draw(0, 0, 0, r)
	worst := 0.0
	for k := range 21 {
		d := float64(k) / 20
		dx, dy, _, _, ok := register.Shift(ref, fine.draw(d, 0.37, 0, r), side, side, 0.5, 0.5)
		worst = max(worst, math.Abs(dx-d), math.Abs(dy-0.37))
		fmt.Printf("  %5.2f  %+.5f  %v\n", d, dx-d, ok)
	}
	fmt.Printf("  worst %.5f (promise: 0.005)\n\n", worst)

	fmt.Println("noise, 2000 draws each, known reference")
	fmt.Println("  texture  sigma  sd/px    bound/px  ratio  stated/sd")
	blob := &blobs{x: []float64{0}, y: []float64{0}, s: []float64{2}, a: []float64{100}}
	for _, c := range []struct {
		name string
		t    *blobs
	}{{"blob", blob}, {"fine", fine}} {
		ref := c.t.draw(0, 0, 0, r)
		for _, sigma := range []float64{1, 2, 5} {
			var sum, stated float64
			const draws = 2000
			for i := range draws {
				d := float64(i%20) / 20
				dx, _, u, _, _ := register.Shift(ref, c.t.draw(d, 0, sigma, r), side, side, d+0.3, 0.2)
				sum += (dx - d) * (dx - d)
				stated += u * u
			}
			sd, b := math.Sqrt(sum/draws), c.t.bound(sigma)
			fmt.Printf("  %-7s  %5.0f  %.5f  %.5f   %.3f  %.3f\n", c.name, sigma, sd, b, sd/b, math.Sqrt(stated/draws)/sd)
		}
	}
}
