package trace

import (
	"math"

	"padside/fit"
	"padside/footage"
	"padside/register"
)

// still is the picture at rest: the mean of frames before motion, in grey levels.
type still struct {
	w, h  int
	sum   []float32
	n     int
	seen  int
	noise float64 // standard deviation of one frame's pixel, grey levels; known from two frames on
}

// stillFrames is how many frames are averaged: enough that their noise hardly counts.
const stillFrames = 16

// add averages a frame in; of a long rest every eighth frame is taken.
func (s *still) add(l *footage.Luma) {
	s.seen++
	if s.n >= stillFrames || s.n >= 4 && s.seen%8 != 0 {
		return
	}
	if s.sum == nil {
		s.w, s.h = l.Width, l.Height
		s.sum = make([]float32, l.Width*l.Height)
	}
	if s.n == 1 {
		s.noise = s.difference(l)
	}
	s.n++
	if l.Pix8 != nil {
		for i, v := range l.Pix8 {
			s.sum[i] += float32(v)
		}
		return
	}
	g := register.Grey(l)
	for i, v := range l.Pix16 {
		s.sum[i] += g * float32(v)
	}
}

// stillOf is one frame as a picture at rest, with the noise of others like it, levels; 0: as little as samples show.
func stillOf(l *footage.Luma, noise float64) *still {
	s := &still{noise: max(noise, 0.3*float64(register.Grey(l)))}
	s.add(l)
	return s
}

// window copies an area of the mean, which must lie in the picture.
func (s *still) window(a register.Area) []float32 {
	out := make([]float32, a.W*a.H)
	k := 1 / float32(s.n)
	for y := range a.H {
		for x, v := range s.sum[(a.Y+y)*s.w+a.X:][:a.W] {
			out[y*a.W+x] = k * v
		}
	}
	return out
}

// backdrop is the part of the picture at rest that the vehicle passes before, ready for interpolation.
type backdrop struct {
	register.Area
	pix    []float32
	spline *register.Spline
}

// backdropOf cuts the area out of the picture at rest.
func backdropOf(s *still, a register.Area, b *register.Basis) *backdrop {
	a = a.Clip(register.Area{X: 0, Y: 0, W: s.w, H: s.h})
	if a.W < 2*register.Reach || a.H < 2*register.Reach {
		return nil
	}
	pix := s.window(a)
	return &backdrop{Area: a, pix: pix, spline: register.NewSpline(b, pix, a.W, a.H)}
}

// difference is the noise that the frame and the one averaged so far show against each other.
func (s *still) difference(l *footage.Luma) float64 {
	var d []float64
	for i := 3; i < len(s.sum); i += 37 {
		d = append(d, float64(register.Level(l, i%l.Width, i/l.Width)-s.sum[i]))
	}
	_, sd := fit.MAD(d)
	// Whole steps of the samples hide noise below a third of them.
	return max(sd/math.Sqrt2, 0.3*float64(register.Grey(l)))
}

// at is the picture at rest at a pixel.
func (s *still) at(x, y int) float32 { return s.sum[y*s.w+x] / float32(s.n) }

// stillMoved is how many frames are wanted at least, those of a camera that moved included.
const stillMoved = 4

// shifted is the picture with what lies at (x+dx, y+dy) brought to (x, y), interpolated linearly; its border is repeated.
func shifted(l *footage.Luma, dx, dy float64) *footage.Luma {
	out := &footage.Luma{Width: l.Width, Height: l.Height, Depth: l.Depth}
	if l.Pix8 != nil {
		out.Pix8 = make([]uint8, len(l.Pix8))
		shift(out.Pix8, l.Pix8, l.Width, l.Height, dx, dy)
	} else {
		out.Pix16 = make([]uint16, len(l.Pix16))
		shift(out.Pix16, l.Pix16, l.Width, l.Height, dx, dy)
	}
	return out
}

func shift[T uint8 | uint16](dst, src []T, w, h int, dx, dy float64) {
	ix, iy := int(math.Floor(dx)), int(math.Floor(dy))
	fx, fy := float32(dx-float64(ix)), float32(dy-float64(iy))
	for y := range h {
		y0, y1 := min(max(y+iy, 0), h-1)*w, min(max(y+iy+1, 0), h-1)*w
		for x := range w {
			x0, x1 := min(max(x+ix, 0), w-1), min(max(x+ix+1, 0), w-1)
			top := (1-fx)*float32(src[y0+x0]) + fx*float32(src[y0+x1])
			low := (1-fx)*float32(src[y1+x0]) + fx*float32(src[y1+x1])
			dst[y*w+x] = T((1-fy)*top + fy*low + 0.5)
		}
	}
}
