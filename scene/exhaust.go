package scene

import (
	"math"
	"math/rand/v2"
)

// Plume says what leaves the tail.
type Plume int

const (
	// NoPlume: nothing, as for a dropped ball.
	NoPlume Plume = iota
	// Spray is water: a jet that breaks into mist, splashes on the ground and drifts.
	Spray
	// Smoke is a motor's flame and its smoke, which billows, rises and drifts.
	Smoke
)

// Exhaust is what leaves the tail, and when. It starts abruptly, grows, trails behind and
// drifts, so that whoever follows "what moves" follows it instead of the vehicle.
type Exhaust struct {
	Plume    Plume
	From, To float64 // s, in the motion's time
	Strength float64 // 0: 1
}

// puff is one parcel of smoke or mist. Places are on the vehicle's sheet: along from the
// tail at rest, across to the right, in m.
type puff struct {
	born          float64 // s, in the motion's time
	along, across float64
	va, vc        float64 // m/s when born
	radius, grow  float64 // m, and m per root second
	depth         float64 // optical, at birth
	life          float64 // s
}

// puffsOf draws the parcels of a vehicle's whole flight from the seed.
func puffsOf(v *Vehicle, seed uint64) []puff {
	e := v.Exhaust
	if e.Plume == NoPlume || e.To <= e.From {
		return nil
	}
	n := 600
	if e.Plume == Spray {
		n = 620
	}
	strength := e.Strength
	if strength == 0 {
		strength = 1
	}
	r := rand.New(rand.NewPCG(seed, 0x70756666))
	puffs := make([]puff, n)
	for i := range puffs {
		// More parcels early, when the vehicle is slow and the cloud builds up.
		t := e.From + (e.To-e.From)*math.Pow((float64(i)+r.Float64())/float64(n), 1.35)
		s := v.Motion.At(t)
		p := puff{born: t, along: s.Height - 0.01, across: 0.25 * v.Diameter * (r.Float64() - 0.5)}
		fade := 1 - 0.5*(t-e.From)/(e.To-e.From)
		switch e.Plume {
		case Spray:
			p.va, p.vc = s.Speed-(26+6*r.Float64())*fade, 1.5*r.NormFloat64()
			p.radius, p.grow = 0.008+0.006*r.Float64(), 0.16+0.16*r.Float64()
			p.depth, p.life = (0.55+0.5*r.Float64())*strength, 0.25+0.5*r.Float64()
			if i%4 == 0 { // heavy drops: small, sharp
				p.radius, p.grow, p.depth, p.vc = 0.004, 0.02, 1.1, 2.6*r.NormFloat64()
			}
		default:
			p.va, p.vc = s.Speed-(30+30*r.Float64())*fade, 2.2*r.NormFloat64()
			p.radius, p.grow = (0.45+0.35*r.Float64())*v.Diameter, (0.20+0.25*r.Float64())*math.Sqrt(v.Length)
			p.depth, p.life = (0.9+0.7*r.Float64())*strength, 1.5+2*r.Float64()
		}
		puffs[i] = p
	}
	return puffs
}

// at returns where a puff is after age seconds, its radius and what is left of its depth.
func (p *puff) at(age, ground, wind float64, plume Plume) (along, across, radius, depth float64) {
	drag, fall := 0.035, -1.4
	if plume == Smoke {
		drag, fall = 0.05, 0.7
	}
	glide := drag * (1 - math.Exp(-age/drag))
	along = p.along + p.va*glide + fall*age
	blown := wind * (age - 0.25*(1-math.Exp(-age/0.25)))
	across = p.across + p.vc*glide + blown
	radius = p.radius + p.grow*math.Sqrt(age)*math.Sqrt(glide/drag)
	if below := ground + 0.5*radius - along; below > 0 { // it meets the ground and spreads
		along = ground + 0.5*radius + 0.10*below*math.Abs(math.Sin(40*p.born))
		side := math.Copysign(1, math.Sin(977*p.born))
		across += side * 0.55 * below * (0.3 + 0.7*math.Abs(math.Sin(311*p.born)))
		radius += 0.22 * below
	}
	thinning := 1.25
	if plume == Smoke {
		thinning = 0.7
	}
	depth = p.depth * math.Pow(p.radius/radius, thinning) * math.Exp(-age/p.life)
	return along, across, radius, depth
}

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

// exhaust draws the plume of a vehicle as it is over the exposure of frame i.
func (s *Scene) exhaust(c *canvas, n int, i int, dx, dy float64) {
	v, st := &s.Vehicles[n], &s.stages[n]
	if len(st.puffs) == 0 {
		return
	}
	half := s.Camera.Exposure / 2
	now := func(y float64) float64 { return s.Stamps[i] + half + y*s.Camera.RowTime - v.Start }
	middle := now(float64(s.Camera.Height) / 2)
	if now(float64(s.Camera.Height)) < v.Exhaust.From {
		return
	}
	k := s.Camera.scale() / v.Range // px per m
	cl := &cloud{w: c.w, h: c.h, depth: make([]float32, c.w*c.h), x0: c.w, y0: c.h}
	for j := range st.puffs {
		p := &st.puffs[j]
		if middle < p.born {
			continue
		}
		age := middle - p.born
		along, across, radius, depth := p.at(age, -v.Pad, s.Wind, v.Exhaust.Plume)
		if depth < 0.004 {
			continue
		}
		at := st.sheet.see(along, across)
		sd := max(0.7, 0.6*radius*k)
		smear := math.Abs(p.va) * math.Exp(-age/0.035) * 2 * half * k / math.Sqrt(12)
		cl.add(cl.depth, at.X+dx, at.Y+dy, sd, math.Hypot(sd, smear), depth)
	}
	if f := middle; v.Exhaust.Plume == Smoke && f < v.Exhaust.To {
		cl.glow = make([]float32, c.w*c.h)
		s.flame(cl, v, st, i, [2]float64{dx, dy})
	}
	if v.Exhaust.Plume == Spray && middle < v.Exhaust.To {
		s.jet(cl, v, st, middle, [2]float64{dx, dy})
	}
	s.layCloud(c, cl, v, middle, k)
}

// jet adds the unbroken column of water below the nozzle.
func (s *Scene) jet(cl *cloud, v *Vehicle, st *stage, t float64, shift [2]float64) {
	h := v.Motion.At(t).Height
	k := s.Camera.scale() / v.Range
	for d := 0.0; d < 0.55; d += 0.006 {
		if h-d < -v.Pad {
			break
		}
		at := st.sheet.see(h-d, 0.004*math.Sin(60*d+900*t))
		cl.add(cl.depth, at.X+shift[0], at.Y+shift[1], max(0.8, (0.0055+0.016*d)*k), max(0.8, 0.006*k), 0.9*math.Exp(-d/0.28))
	}
}

// flame adds the light of the flame, a little of it at each of a few instants of the exposure.
func (s *Scene) flame(cl *cloud, v *Vehicle, st *stage, i int, shift [2]float64) {
	const instants = 3
	k := s.Camera.scale() / v.Range
	flicker := 0.85 + 0.3*unitHash(s.Seed^0x666c616d65, i)
	length := 4.2 * v.Diameter * (0.9 + 0.2*unitHash(s.Seed^0x6c656e, i))
	for m := range instants {
		t := s.Stamps[i] + s.Camera.Exposure*(float64(m)+0.5)/instants - v.Start
		h := v.Motion.At(t).Height
		if tail := st.sheet.see(h, 0); s.Camera.RowTime > 0 {
			h = v.Motion.At(t + tail.Y*s.Camera.RowTime).Height
		}
		for d := 0.0; d < length; d += 0.12 * v.Diameter {
			at := st.sheet.see(h-d-0.03*v.Diameter, 0)
			u := d / length
			wide := v.Diameter * (0.10 + 0.16*u*(1-0.6*u)) * k
			cl.add(cl.glow, at.X+shift[0], at.Y+shift[1], max(0.7, wide), max(0.7, 0.10*v.Diameter*k),
				flicker*(1-u)*(1-u)*1.5/instants)
		}
		at := st.sheet.see(h-0.4*length, 0)
		cl.add(cl.glow, at.X+shift[0], at.Y+shift[1], 0.9*v.Diameter*k, 1.3*v.Diameter*k, 0.10*flicker/instants)
	}
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
