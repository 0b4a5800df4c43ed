package scene

import "math"

// cloud is the optical depth of mist or smoke over a window of the picture, and the light
// of the flame.
type cloud struct {
	w, h           int
	depth          []float32
	glow           []float32
	x0, y0, x1, y1 int // the window that holds something
}

// add adds a Gaussian blob at (x, y) with standard deviations in px, down to a 30th of its height.
func (c *cloud) add(plane []float32, x, y, sx, sy, amount float64) {
	const reach = 2.6
	xa, xb := max(0, int(math.Ceil(x-reach*sx))), min(c.w-1, int(x+reach*sx))
	ya, yb := max(0, int(math.Ceil(y-reach*sy))), min(c.h-1, int(y+reach*sy))
	if xa > xb || ya > yb {
		return
	}
	c.x0, c.y0, c.x1, c.y1 = min(c.x0, xa), min(c.y0, ya), max(c.x1, xb+1), max(c.y1, yb+1)
	gx := bell(make([]float32, xb-xa+1), (float64(xa)-x)/sx, 1/sx)
	gy := bell(make([]float32, yb-ya+1), (float64(ya)-y)/sy, 1/sy)
	foot := float32(math.Exp(-reach * reach / 2))
	for i := range gx {
		gx[i] = max(0, gx[i]-foot)
	}
	for j, w := range gy {
		w *= float32(amount)
		row := plane[(ya+j)*c.w+xa : (ya+j)*c.w+xb+1]
		for i, g := range gx {
			row[i] += w * g
		}
	}
}

// bell fills v with exp(-u^2/2) at u = u0, u0+du, ...: each from the one before by a factor
// that itself changes by a constant factor.
func bell(v []float32, u0, du float64) []float32 {
	g, ratio, change := math.Exp(-u0*u0/2), math.Exp(-du*(u0+du/2)), math.Exp(-du*du)
	for i := range v {
		v[i] = float32(g)
		g *= ratio
		ratio *= change
	}
	return v
}

// layCloud puts mist or smoke and its flame on the canvas. Light is dimmed by what lies
// between and the sun; billows come from noise that stays with the air.
func (s *Scene) layCloud(c *canvas, cl *cloud, v *Vehicle, t, k float64) {
	white, billow, gain := RGB{0.80, 0.79, 0.77}, 0.40*v.Length*k, 1.0
	if v.Exhaust.Plume == Spray {
		white, billow, gain = RGB{0.93, 0.96, 0.99}, 0.13*k, 0.75
	}
	toSun := [2]int{int(math.Round(s.lamp.sun.x * 0.06 * k)), -int(math.Round(max(0.2, s.lamp.sun.y) * 0.07 * k))}
	drift := s.Wind * t * k
	billows, relief := make([]float64, c.w), make([]float64, c.w)
	for y := cl.y0; y < cl.y1; y++ {
		x0, x1 := cl.held(y)
		if x0 >= x1 {
			continue
		}
		bx, by := (float64(x0)-drift)/billow, (float64(y)+30*t)/billow
		clear(billows[x0:x1])
		clear(relief[x0:x1])
		s.air.fractalRow(billows[x0:x1], bx, 1/billow, by, 4/billow, 4)
		s.air.row(relief[x0:x1], bx+17.3, 1/billow, by-9.1, 0.35)
		s.air.row(relief[x0:x1], bx+17.3+0.3*s.lamp.sun.x, 1/billow, by-9.4, -0.35)
		depth := cl.depth[y*c.w : (y+1)*c.w]
		sunward := cl.depth[min(c.h-1, max(0, y+toSun[1]))*c.w:][:c.w]
		for x := x0; x < x1; x++ {
			d := float64(depth[x])
			var fire RGB
			if cl.glow != nil {
				if g := float64(cl.glow[y*c.w+x]); g >= leastGlow {
					fire = RGB{1.9, 1.15, 0.55}.toward(RGB{3, 2.7, 2.2}, clamp01(g)).times(1.6 * g)
				}
			}
			if d < leastDepth {
				if fire[0] > 0 {
					s.put(c, y*c.w+x, 0, RGB{}, fire)
				}
				continue
			}
			n := billows[x]
			alpha := s.veil.at(gain * d * (1 + n*(1+n*(0.5+n/6)))) // exp(n), nearly
			through := 1 / (1 + 0.22*float64(sunward[min(c.w-1, max(0, x+toSun[0]))]))
			col := lit(white, s.lamp.ambient*(0.75+0.25*through)+0.62*s.lamp.direct*through+relief[x], s.lamp.tint)
			s.put(c, y*c.w+x, alpha, col, fire)
		}
	}
}

// leastDepth and leastGlow are what is seen at all.
const (
	leastDepth = 0.003
	leastGlow  = 0.002
)

// held returns the stretch of row y outside which nothing of the cloud is seen.
func (c *cloud) held(y int) (x0, x1 int) {
	seen := func(x int) bool {
		return c.depth[y*c.w+x] >= leastDepth || c.glow != nil && c.glow[y*c.w+x] >= leastGlow
	}
	x0, x1 = c.x0, c.x1
	for x0 < x1 && !seen(x0) {
		x0++
	}
	for x1 > x0 && !seen(x1-1) {
		x1--
	}
	return x0, x1
}

// veil is a table of 1 - exp(-x), how much a depth x hides.
type veil [1 << 11]float64

// veilEnd is where the table ends: nothing is left to hide.
const veilEnd = 8.0

func newVeil() *veil {
	v := &veil{}
	for i := range v {
		v[i] = -math.Expm1(-veilEnd * float64(i) / float64(len(v)-1))
	}
	return v
}

func (v *veil) at(x float64) float64 {
	x *= float64(len(v)-1) / veilEnd
	if x >= float64(len(v)-1) {
		return 1
	}
	i := int(x)
	return v[i] + (x-float64(i))*(v[i+1]-v[i])
}

// put lays colour over one pixel and adds light to it.
func (s *Scene) put(c *canvas, at int, alpha float64, col, fire RGB) {
	gain := s.gain()
	if len(c.planes) == 1 {
		p := &c.planes[0][at]
		*p = float32(float64(*p)*(1-alpha) + gain*(alpha*col.luminance()+fire.luminance()))
		return
	}
	for k := range c.planes {
		p := &c.planes[k][at]
		*p = float32(float64(*p)*(1-alpha) + gain*(alpha*col[k]+fire[k]))
	}
}
