package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"padside/flight"
	"padside/scene"
	"padside/timebase"
)

// chance draws what a take is like.
type chance struct{ *rand.Rand }

// between draws evenly from [lo, hi).
func (c chance) between(lo, hi float64) float64 { return lo + (hi-lo)*c.Float64() }

// scaled draws from [lo, hi), each factor as likely as the other.
func (c chance) scaled(lo, hi float64) float64 { return lo * math.Pow(hi/lo, c.Float64()) }

// often is true with a probability.
func (c chance) often(p float64) bool { return c.Float64() < p }

func pick[T any](c chance, choices ...T) T { return choices[c.IntN(len(choices))] }

// shot is a launch filmed by somebody: the drawn take, how it is stored, and what is stated of it.
type shot struct {
	take      *scene.Take
	kind      string // "bottle", "motor" or "drop"
	hz        float64
	stills    bool
	clip      scene.ClipOptions
	recording *scene.Recording
	said      said
}

// scope is what the takes of a class are drawn from.
type scope struct {
	kinds  []string
	rates  []float64
	length [2]float64 // px, of the vehicle
	lying  float64    // probability of a picture that is wider than high
	frames int        // at most; 0: 250
	long   [2]int     // px, the longer side of the picture; 0: 480 to 720
}

// most is how many frames a take has at most, where its scope says nothing.
const most = 250

// begin draws a take but for its frames: everything that stands still, the flight and what is stated. Its shutter is global.
func begin(c chance, w scope) *shot {
	s := &shot{}
	sc := &scene.Scene{Seed: c.Uint64(), Wind: c.between(-3, 3)}
	cam := &sc.Camera
	sizes := w.long
	if sizes[1] == 0 {
		sizes = [2]int{480, 720}
	}
	long := sizes[0] + 4*c.IntN((sizes[1]-sizes[0])/4+1)
	short := 4 * int(float64(long)*pick(c, 9./16, 0.6, 0.75)/4)
	cam.Width, cam.Height = short, long
	if c.often(w.lying) {
		cam.Width, cam.Height = long, short
	}
	v, f, view := s.flies(c, w, cam.Height)
	s.take = &scene.Take{Scene: sc, Title: s.kind, Vehicles: []string{"vehicle"}, Flights: []*flight.Flight{f}, Traced: v.Length,
		Gravity: flight.StandardGravity, Basis: timebase.Container}
	nearest := 4.0 // m: nobody stands nearer to what is launched
	if s.kind == "drop" {
		nearest = 1.5
	}
	aim(c, cam, view, nearest)
	distance := cam.FocalLength / cam.PixelPitch * view / float64(cam.Height)
	wide := view * float64(cam.Width) / float64(cam.Height)
	v.Range, v.Across = distance, c.between(-0.05, 0.15)*wide
	v.Lean, v.Slant = c.between(-2.5, 2.5)*math.Pi/180, c.between(-2, 2)*math.Pi/180
	v.Livery, v.Launcher = livery(c), s.kind != "drop"
	sc.Vehicles = []scene.Vehicle{v}
	band := bandFor(view, cam.Height)
	sc.Rod = &scene.Rod{Across: v.Across - c.between(0.14, 0.28)*wide, Range: distance * c.between(0.97, 1.03), Base: c.between(0, 0.2),
		Length: math.Max(3, math.Floor(c.between(0.55, 0.9)*view/band)) * band, Band: band, Width: c.between(0.008, 0.016) * view}
	sc.Light, sc.Backdrop, sc.Sensor = day(c), field(c), sensor(c)
	s.states(c)
	return s
}

// flies draws what flies, at which rate it is filmed and how many metres are seen: so that it passes through the view in a handful of frames at least, and leaves it.
func (s *shot) flies(c chance, w scope, high int) (v scene.Vehicle, f *flight.Flight, view float64) {
	for {
		s.kind, s.hz = pick(c, w.kinds...), pick(c, w.rates...)
		v, f = fly(c, s.kind)
		if s.kind == "drop" { // all of the fall is in view
			return v, f, v.Pad * c.between(1.12, 1.5)
		}
		view = v.Length / c.scaled(w.length[0], w.length[1]) * float64(high)
		if view < v.Pad+1.6*v.Length {
			continue
		}
		gone, ok := f.HeightReached(0.93*view - v.Pad - v.Length)
		if frames := (gone - f.FirstMotion) * s.hz; ok && frames > 5 && frames < 3*most {
			return v, f, view
		}
	}
}

// aim draws lens and distance, so that view metres are seen at the flight line, the ground at the bottom of the picture.
func aim(c chance, cam *scene.Camera, view, nearest float64) {
	distance := math.Max(view*c.scaled(1.4, 4), nearest)
	cam.PixelPitch, cam.Elevation = 3e-6, c.between(0.4, 1.7)
	cam.Tilt = math.Atan((view/2 - c.between(0.03, 0.1)*view - cam.Elevation) / distance)
	cam.FocalLength = distance / view * float64(cam.Height) * cam.PixelPitch / math.Cos(cam.Tilt)
	cam.Roll = c.between(-1, 1) * math.Pi / 180
	cam.K1 = c.between(-0.02, 0.02)
	cam.Blur = c.between(0.45, 0.95)
	if c.often(0.5) {
		cam.Shake = c.scaled(0.05, 1)
	}
}

// bandFor is the length of a rod's bands (m) that are at least 9 px long.
func bandFor(view float64, high int) float64 {
	for _, b := range []float64{0.05, 0.1, 0.2, 0.25} {
		if b/view*float64(high) >= 9 {
			return b
		}
	}
	return 0.5
}

func day(c chance) scene.Light {
	return scene.Light{Azimuth: c.between(-1.4, 1.4), Height: c.between(0.3, 1.1), Overcast: c.Float64() * c.Float64(), Haze: c.between(0, 0.8),
		Warmth: c.between(-0.4, 0.9), Exposure: c.scaled(0.7, 1.3)}
}

func field(c chance) scene.Backdrop {
	b := scene.Backdrop{Beyond: c.scaled(30, 200), Clouds: c.between(0.1, 0.9), Dry: c.between(0, 0.8), Defocus: c.scaled(0.3, 4)}
	if c.often(0.85) {
		b.Trees = c.between(3, 16)
	}
	return b
}

func sensor(c chance) scene.Sensor {
	return scene.Sensor{Depth: 8, FullWell: c.scaled(1500, 20000), ReadNoise: c.between(3, 15), Gamma: c.between(1.7, 2.4), Mono: c.often(0.25)}
}

func livery(c chance) scene.Livery {
	one := func() scene.RGB {
		return pick(c, scene.RGB{0.78, 0.77, 0.74}, scene.RGB{0.03, 0.03, 0.035}, scene.RGB{0.58, 0.045, 0.03}, scene.RGB{0.75, 0.24, 0.03},
			scene.RGB{0.035, 0.10, 0.38}, scene.RGB{0.80, 0.58, 0.06})
	}
	return scene.Livery{Body: one(), Nose: one(), Trim: one(), Fin: one()}
}

// run draws the frames: rest, then the flight until the vehicle has left the picture or the most frames are drawn, and which questions are asked.
func (s *shot) run(c chance, w scope) {
	sc := s.take.Scene
	limit := w.frames
	if limit == 0 {
		limit = most
	}
	v := &sc.Vehicles[0]
	rest := c.between(9, math.Min(45, math.Max(14, 0.4*s.hz)))
	v.Start = rest / s.hz
	hz := s.hz * (1 + 3e-5*c.NormFloat64())
	sc.Stamps = scene.Rate(limit, hz)
	last := sc.LastInView(1, s.take.Traced)
	if f := s.take.Flights[0]; s.kind == "drop" {
		last = v.Start + f.End - sc.Camera.Exposure - sc.Camera.Delay(0, float64(sc.Camera.Height)) - 6/s.hz
	}
	sc.Stamps = scene.Rate(min(limit, int(last*hz)+c.IntN(8)+3), hz)
	s.recording = scene.Record(sc)
	s.ask(c)
}

// ask draws the questions: speeds and gates that are reached in view.
func (s *shot) ask(c chance) {
	sc, f := s.take.Scene, s.take.Flights[0]
	v := sc.Vehicles[0]
	last := math.Min(sc.LastInView(1, s.take.Traced), sc.Stamps[len(sc.Stamps)-1]) - v.Start
	_, peak := f.PeakSpeed(last)
	for _, part := range []float64{c.between(0.3, 0.5), c.between(0.6, 0.85)} {
		s.take.Speeds = append(s.take.Speeds, round2(part*peak))
	}
	high := f.At(last).Height
	for _, part := range []float64{0.15, 0.4, 0.65, 0.9} {
		s.take.Gates = append(s.take.Gates, round2(part*high))
	}
}

// round2 rounds to two digits, as somebody asks.
func round2(x float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(x))-1)
	return math.Round(x/unit) * unit
}

// words says what was drawn.
func (s *shot) words() string {
	sc := s.take.Scene
	cam, v := &sc.Camera, &sc.Vehicles[0]
	a, b := sc.Truth(1, 0, 0).Steady, sc.Truth(1, 0, v.Length).Steady
	codec := s.clip.Codec
	if codec == "" {
		codec = "libx264"
	}
	return fmt.Sprintf("%s at %.4g Hz, %dx%d, %s crf %d, vehicle %.2f m = %.0f px, exposure %.2g, readout %.2g (side %d, file turned %d)", s.kind, s.hz, cam.Width, cam.Height, codec, s.clip.CRF,
		v.Length, math.Hypot(a.X-b.X, a.Y-b.Y), cam.Exposure*s.hz, cam.RowTime*float64(cam.Lines())*s.hz, cam.Readout, s.clip.Turned)
}
