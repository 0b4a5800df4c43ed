package scene

import (
	"image"
	"image/color"
	"math"
	"sync"

	"padside/flight"
	"padside/footage"
)

// Scene is a launch being filmed. Set its fields, then ask for frames; after the first
// request they must not change. The same fields give the same frames, whoever asks in whatever order,
// and frames may be asked for by several goroutines at once.
type Scene struct {
	Camera   Camera
	Sensor   Sensor
	Light    Light
	Metering Metering
	Mains    Mains
	Backdrop Backdrop
	Rod      *Rod     // nil: none
	Passers  []Passer // who walks by
	Flags    []Flag
	Vehicles []Vehicle // left to right: lane 1 is the first
	Stamps   []float64 // s, start of exposure of what each frame reads first
	Wind     float64   // m/s, to the right
	Seed     uint64
	Launch   uint64 // differs where the same place is filmed again: another shake, another noise of the sensor and air

	like *Scene // has the same camera, light, backdrop, seed and places of launchers, and so the same picture of them; nil: none

	once   sync.Once
	lamp   *lamp
	sensor *sensor
	air    *noise
	veil   *veil
	back   *backdrop
	still  *canvas // backdrop with what stands still, where the camera does not shake
	stages []stage
	pool   sync.Pool
}

// stage is a vehicle made ready.
type stage struct {
	sheet sheet // in which it is drawn
	way   sheet // of its flight line
	parts []part
	puffs []puff
}

// Frames returns the number of frames.
func (s *Scene) Frames() int { return len(s.Stamps) }

// Rate returns stamps of n frames at a constant rate (Hz), for Scene.Stamps.
func Rate(n int, hz float64) []float64 {
	t := make([]float64, n)
	for i := range t {
		t[i] = float64(i) / hz
	}
	return t
}

func (s *Scene) gain() float64 {
	if s.Light.Exposure == 0 {
		return 1
	}
	return s.Light.Exposure
}

// prepare works out once what all frames share.
func (s *Scene) prepare() {
	s.lamp, s.sensor, s.air = newLamp(s.Light), newSensor(s.Sensor), newNoise(s.again()^0x616972)
	s.veil = newVeil()
	planes := 3
	if s.Sensor.Mono {
		planes = 1
	}
	margin := 2 + s.reach()
	if s.like != nil && s.like != s {
		s.like.once.Do(s.like.prepare)
		s.back = s.like.back
	} else {
		s.back = s.drawBackdrop(margin, planes)
	}
	for i := range s.Vehicles {
		v := &s.Vehicles[i]
		s.stages = append(s.stages, stage{v.sheet(&s.Camera), v.sheet(&s.Camera), v.parts(), append(puffsOf(v, s.Seed+uint64(i)+1), puffsBefore(v, s.Seed+uint64(i)+1)...)})
	}
	s.pool.New = func() any { return newCanvas(s.Camera.Width, s.Camera.Height, planes) }
	if !s.moves() {
		s.still = newCanvas(s.Camera.Width, s.Camera.Height, planes)
		s.standing(s.still, shown{Camera: &s.Camera})
	}
}

// standing draws what no vehicle moves: backdrop, flags, who walks by, launchers, rod.
func (s *Scene) standing(c *canvas, at shown) {
	s.behind(c, at)
	s.passing(c, at, true)
	still := func(int, int) []float64 { return []float64{0} }
	for i := range s.Vehicles {
		if v := &s.Vehicles[i]; v.Launcher {
			up := *v
			up.Lean, up.Slant, up.Falls = 0, 0, false
			sheet := up.sheet(at.Camera)
			s.drawParts(c, v.launcherParts(), stroke{sheet: &sheet, knots: still, light: s.lamp, hand: at.movement})
		}
	}
	if s.Rod != nil {
		sheet := newSheet(at.Camera, vec{s.Rod.Across, s.Rod.Base, s.Rod.Range}, vec{0, 1, 0})
		s.drawParts(c, s.Rod.parts(), stroke{sheet: &sheet, knots: still, light: s.lamp, hand: at.movement})
	}
}

// drawParts draws parts that share a sheet and a movement, blurs them by the lens and puts
// them on the canvas.
func (s *Scene) drawParts(c *canvas, parts []part, st stroke) {
	l := s.window(c, parts, &st)
	if l == nil {
		return
	}
	l.draw(parts, &st)
	l.blur(s.Camera.Blur)
	if g := float32(s.gain()); g != 1 {
		for i := 0; i < len(l.pix); i += 4 {
			l.pix[i], l.pix[i+1], l.pix[i+2] = l.pix[i]*g, l.pix[i+1]*g, l.pix[i+2]*g
		}
	}
	c.lay(l)
}

// window returns a layer that holds all the parts at every row's time, or nil where they
// are out of view.
func (s *Scene) window(c *canvas, parts []part, st *stroke) *layer {
	margin := math.Ceil(4*s.Camera.Blur) + 2
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	var heights []float64
	for k := range 4 {
		heights = append(heights, st.knots(k*(c.w-1)/3, k*(c.h-1)/3)...)
	}
	for i := range parts {
		p := &parts[i]
		for _, h := range heights {
			pad := p.leans(st.sheet, p.lo+h, p.hi+h)
			for _, along := range []float64{p.lo + h - pad, p.hi + h + pad} {
				for _, q := range []float64{p.left, p.right} {
					at := st.sheet.see(along, q)
					x, y := st.hand.seen(at.X, at.Y)
					x0, x1 = min(x0, x), max(x1, x)
					y0, y1 = min(y0, y), max(y1, y)
				}
			}
		}
	}
	x0, x1 = max(x0-margin, -margin), min(x1+margin, float64(c.w)+margin)
	y0, y1 = max(y0-margin, -margin), min(y1+margin, float64(c.h)+margin)
	if x0 >= x1 || y0 >= y1 {
		return nil
	}
	return newLayer(int(math.Floor(x0)), int(math.Floor(y0)), int(math.Ceil(x1))+1, int(math.Ceil(y1))+1)
}

// knotsOf returns the heights of a vehicle at instants of the exposure of a pixel of frame i.
func (s *Scene) knotsOf(v *Vehicle, i int) func(x, y int) []float64 {
	from := s.Stamps[i] - v.Start
	at := func(x, y int) []float64 {
		t := from + s.Camera.delay(float64(x), float64(y))
		a, b := v.Motion.At(t), v.Motion.At(t+s.Camera.Exposure)
		if a.Height == b.Height {
			return []float64{a.Height}
		}
		n := s.bends(v, a, b)
		h := make([]float64, n+1)
		for k := range h {
			h[k] = v.Motion.At(t + s.Camera.Exposure*float64(k)/float64(n)).Height
		}
		return h
	}
	if s.Camera.RowTime == 0 {
		all := at(0, 0)
		return func(int, int) []float64 { return all }
	}
	return at
}

// bends returns into how many even movements an exposure is cut, so that each bends by less
// than a thousandth of a pixel.
func (s *Scene) bends(v *Vehicle, a, b flight.State) int {
	e := s.Camera.Exposure
	bend := max(math.Abs(b.Speed-a.Speed)*e, max(math.Abs(a.Acceleration), math.Abs(b.Acceleration))*e*e) / 8
	px := bend * s.Camera.scale() / v.Range
	return max(2, min(16, int(math.Ceil(math.Sqrt(px/1e-3)))))
}

// expose draws frame i in light. The canvas goes back to the pool when done with.
func (s *Scene) expose(i int) *canvas {
	s.once.Do(s.prepare)
	c := s.pool.Get().(*canvas)
	at := s.at(i)
	if s.still != nil {
		for k := range c.planes {
			copy(c.planes[k], s.still.planes[k])
		}
	} else {
		s.standing(c, at)
	}
	for n := range s.Vehicles {
		v, st := &s.Vehicles[n], s.staged(n, i)
		s.drawParts(c, st.parts, stroke{sheet: &st.sheet, knots: s.knotsOf(v, i), light: s.lamp, hand: at.movement, sideways: s.sideways()})
	}
	for n := range s.Vehicles {
		s.exhaust(c, n, i, at)
	}
	s.passing(c, at, false)
	s.mist(c, at)
	s.meter(c, i)
	return c
}

// again is the seed of what is never the same twice, even at the same place.
func (s *Scene) again() uint64 { return s.Seed ^ s.Launch<<20 }

// Frame draws the brightness of frame i. For a colour sensor that is 0.299 R + 0.587 G +
// 0.114 B of its numbers (ITU-R BT.601), as stills and clips carry it.
func (s *Scene) Frame(i int) *footage.Luma {
	c := s.expose(i)
	defer s.pool.Put(c)
	l := &footage.Luma{Width: c.w, Height: c.h, Depth: s.sensor.Depth}
	if l.Depth == 8 {
		l.Pix8 = brightness[uint8](s, c, i)
	} else {
		l.Pix16 = brightness[uint16](s, c, i)
	}
	return l
}

// brightness exposes the canvas of frame i and returns one number per pixel.
func brightness[T uint8 | uint16](s *Scene, c *canvas, i int) []T {
	if s.Sensor.Mono {
		out := make([]T, c.w*c.h)
		expose(s.sensor, c.planes[0], s.again(), uint64(i), out)
		return out
	}
	rgb := channels[T](s, c, i)
	out := rgb[0]
	for at := range out {
		out[at] = T((299*uint32(rgb[0][at]) + 587*uint32(rgb[1][at]) + 114*uint32(rgb[2][at]) + 500) / 1000)
	}
	return out
}

// channels exposes the three planes of the canvas of frame i.
func channels[T uint8 | uint16](s *Scene, c *canvas, i int) (rgb [3][]T) {
	for k := range rgb {
		rgb[k] = make([]T, c.w*c.h)
		expose(s.sensor, c.planes[k], s.again()+uint64(k)<<32, uint64(i), rgb[k])
	}
	return rgb
}

// Color draws frame i as a picture: grey for a sensor of one channel (8 or 16 bits, deeper
// than 8 scaled up to 16), else colour.
func (s *Scene) Color(i int) image.Image {
	r := image.Rect(0, 0, s.Camera.Width, s.Camera.Height)
	if s.Sensor.Mono {
		return grey(s.Frame(i))
	}
	c := s.expose(i)
	defer s.pool.Put(c)
	if s.sensor.Depth == 8 {
		m, rgb := image.NewRGBA(r), channels[uint8](s, c, i)
		for at := range rgb[0] {
			p := m.Pix[4*at : 4*at+4]
			p[0], p[1], p[2], p[3] = rgb[0][at], rgb[1][at], rgb[2][at], 255
		}
		return m
	}
	m, rgb, up := image.NewRGBA64(r), channels[uint16](s, c, i), 16-s.sensor.Depth
	for at := range rgb[0] {
		m.SetRGBA64(at%c.w, at/c.w, color.RGBA64{R: rgb[0][at] << up, G: rgb[1][at] << up, B: rgb[2][at] << up, A: 0xffff})
	}
	return m
}

// grey makes a picture of a luma frame.
func grey(l *footage.Luma) image.Image {
	r := image.Rect(0, 0, l.Width, l.Height)
	if l.Depth == 8 {
		return &image.Gray{Pix: l.Pix8, Stride: l.Width, Rect: r}
	}
	m := image.NewGray16(r)
	for i, v := range l.Pix16 {
		v <<= 16 - l.Depth
		m.Pix[2*i], m.Pix[2*i+1] = uint8(v>>8), uint8(v)
	}
	return m
}
