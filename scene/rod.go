package scene

import (
	"math/rand/v2"

	"padside/camera"
)

// Rod is a graduated rod: dark and light bands of equal length on an upright staff, at a
// range of its own.
type Rod struct {
	Across float64 // m, X
	Range  float64 // m, Z
	Base   float64 // m, height of its zero mark above the ground
	Length float64 // m
	Band   float64 // m, length of a band: marks are where they meet
	Width  float64 // m
}

// Mark is a mark of the rod: its distance from the zero mark (m) and where it is seen.
type Mark struct {
	At float64
	camera.Pixel
}

// Marks returns the rod's marks that lie in the picture, lowest first, exactly where an
// unshaken camera sees them. It returns nil where there is no rod.
func (s *Scene) Marks() []Mark {
	if s.Rod == nil {
		return nil
	}
	var marks []Mark
	for i := 0; ; i++ {
		at := float64(i) * s.Rod.Band
		if at > s.Rod.Length*(1+1e-9) {
			return marks
		}
		p := s.Camera.Project(s.Rod.Across, s.Rod.Base+at, s.Rod.Range)
		if s.Camera.sees(p) {
			marks = append(marks, Mark{at, p})
		}
	}
}

// sees tells whether a place lies on a pixel of the picture.
func (c *Camera) sees(p camera.Pixel) bool {
	return p.X >= -0.5 && p.Y >= -0.5 && p.X < float64(c.Width)-0.5 && p.Y < float64(c.Height)-0.5
}

// Thin returns n of the marks, spread evenly from the first to the last.
func Thin(marks []Mark, n int) []Mark {
	if n >= len(marks) || n < 2 {
		return marks
	}
	out := make([]Mark, n)
	for i := range out {
		out[i] = marks[(i*(len(marks)-1)+(n-1)/2)/(n-1)]
	}
	return out
}

// Perturb returns the marks as somebody would place them who errs by sd px (standard
// deviation) in x and y.
func Perturb(marks []Mark, sd float64, seed uint64) []Mark {
	r := rand.New(rand.NewPCG(seed, 0x6d61726b73))
	out := append([]Mark(nil), marks...)
	for i := range out {
		out[i].X += sd * r.NormFloat64()
		out[i].Y += sd * r.NormFloat64()
	}
	return out
}

// part is the rod drawn on its sheet, whose origin is the zero mark.
func (r *Rod) parts() []part {
	light, dark := RGB{0.80, 0.79, 0.74}, RGB{0.045, 0.04, 0.04}
	var bands []Band
	for i := 0; float64(i)*r.Band < r.Length*(1-1e-9); i++ {
		c := light
		if i%2 == 0 {
			c = dark
		}
		if i%10 == 8 { // every fifth dark band is red, to count by
			c = RGB{0.55, 0.06, 0.04}
		}
		bands = append(bands, Band{From: float64(i) * r.Band, Colour: c})
	}
	w := r.Width / 2
	return []part{
		box(-0.35*w, 0.35*w, -r.Base, 0, []Band{{-9, RGB{0.20, 0.17, 0.13}}}),
		box(-w, w, 0, r.Length, bands),
	}
}
