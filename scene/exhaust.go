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
	Before   float64 // of Spray: how much of it rises before the body as it is let go; 0: none
	Flame    float64 // of Smoke: how bright and large the flame is; 0: 1
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

// exhaust draws the plume of a vehicle as it is over the exposure of frame i.
func (s *Scene) exhaust(c *canvas, n int, i int, shown shown) {
	v, st := &s.Vehicles[n], s.staged(n, i)
	if len(st.puffs) == 0 {
		return
	}
	half := s.Camera.Exposure / 2
	middle := s.seenAt(n+1, i) - v.Start
	if middle < v.Exhaust.From {
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
		at := st.way.see(along, across)
		sd := max(0.7, 0.6*radius*k)
		smear := math.Abs(p.va) * math.Exp(-age/0.035) * 2 * half * k / math.Sqrt(12)
		x, y := shown.seen(at.X, at.Y)
		cl.add(cl.depth, x, y, sd, math.Hypot(sd, smear), depth)
	}
	if f := middle; v.Exhaust.Plume == Smoke && f < v.Exhaust.To {
		cl.glow = make([]float32, c.w*c.h)
		s.flame(cl, v, st, i, shown.movement)
	}
	if v.Exhaust.Plume == Spray && middle < v.Exhaust.To {
		s.jet(cl, v, st, middle, shown.movement)
	}
	s.layCloud(c, cl, v, middle, k)
}

// jet adds the unbroken column of water below the nozzle.
func (s *Scene) jet(cl *cloud, v *Vehicle, st *stage, t float64, hand *movement) {
	h := v.Motion.At(t).Height
	k := s.Camera.scale() / v.Range
	for d := 0.0; d < 0.55; d += 0.006 {
		if h-d < -v.Pad {
			break
		}
		at := st.sheet.see(h-d, 0.004*math.Sin(60*d+900*t))
		x, y := hand.seen(at.X, at.Y)
		cl.add(cl.depth, x, y, max(0.8, (0.0055+0.016*d)*k), max(0.8, 0.006*k), 0.9*math.Exp(-d/0.28))
	}
}

// flame adds the light of the flame, a little of it at each of a few instants of the exposure.
func (s *Scene) flame(cl *cloud, v *Vehicle, st *stage, i int, hand *movement) {
	const instants = 3
	k := s.Camera.scale() / v.Range
	flicker := 0.85 + 0.3*unitHash(s.Seed^0x666c616d65, i)
	length := 4.2 * v.Diameter * (0.9 + 0.2*unitHash(s.Seed^0x6c656e, i))
	if f := v.Exhaust.Flame; f > 0 {
		flicker, length = flicker*f, length*math.Sqrt(f)
	}
	for m := range instants {
		t := s.Stamps[i] + s.Camera.Exposure*(float64(m)+0.5)/instants - v.Start
		h := v.Motion.At(t).Height
		if tail := st.sheet.see(h, 0); s.Camera.RowTime > 0 {
			h = v.Motion.At(t + s.Camera.Delay(tail.X, tail.Y)).Height
		}
		for d := 0.0; d < length; d += 0.12 * v.Diameter {
			at := st.sheet.see(h-d-0.03*v.Diameter, 0)
			u := d / length
			wide := v.Diameter * (0.10 + 0.16*u*(1-0.6*u)) * k
			x, y := hand.seen(at.X, at.Y)
			cl.add(cl.glow, x, y, max(0.7, wide), max(0.7, 0.10*v.Diameter*k),
				flicker*(1-u)*(1-u)*1.5/instants)
		}
		at := st.sheet.see(h-0.4*length, 0)
		x, y := hand.seen(at.X, at.Y)
		cl.add(cl.glow, x, y, 0.9*v.Diameter*k, 1.3*v.Diameter*k, 0.10*flicker/instants)
	}
}

// puffsBefore draws the parcels of spray that rise before the body as it is let go: what leaks about the mouth and is thrown back by the stand.
func puffsBefore(v *Vehicle, seed uint64) []puff {
	e := v.Exhaust
	if e.Before == 0 || e.Plume != Spray {
		return nil
	}
	r := rand.New(rand.NewPCG(seed, 0x6265666f7265))
	puffs := make([]puff, 160)
	for i := range puffs {
		t := e.From + 0.5*(e.To-e.From)*r.Float64()*r.Float64()
		at := v.Motion.At(t)
		puffs[i] = puff{
			born: t, along: at.Height + v.Length*(0.5*r.Float64()-0.05), across: 1.6 * v.Diameter * (r.Float64() - 0.5), va: 0.5*at.Speed + 6*r.Float64(), vc: 1.2 * r.NormFloat64(),
			radius: 0.012 + 0.02*r.Float64(), grow: 0.15 + 0.2*r.Float64(), depth: (0.5 + r.Float64()) * e.Before, life: 0.15 + 0.25*r.Float64(),
		}
	}
	return puffs
}
