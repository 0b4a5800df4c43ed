package shoot

import (
	"math"
	"math/rand/v2"
	"time"

	"padside/camera"
	"padside/flight"
	"padside/metrology"
	"padside/motion"
	"padside/scene"
	"padside/timebase"
)

// Film is a take of the plan in simulation: what is drawn, and the truth about it. Its ranges, and how the flight leans, differ from what is stated by what
// is stated of their uncertainty, as they would on the day.
type Film struct {
	Take *scene.Take

	camera Camera
	motion Motion
	Tick   time.Duration // of a burst's clock, to which the times of its stills are cut; 0: the film is a clip
	start  float64       // s, first motion in the scene's time
	last   float64       // s, from first motion until the nose leaves the view
	seen   float64       // s, from first motion to the last frame that shows the nose
}

const (
	// defaultLean is the standard uncertainty of a flight's lean where nothing is stated, as the scale allows for it.
	defaultLean = 2 * math.Pi / 180
	// electrons is what a pixel holds at the lowest ISO, before it is full; each doubling of ISO halves it. Sensors of such pixels hold 10,000 to 30,000.
	electrons, leastElectrons, readNoise = 20_000, 400, 8
	// lensBlur is the standard deviation of the lens's blur in focus, px.
	lensBlur = 0.6
	// framesBefore and framesAfter are filmed besides those in flight; a burst shows fewer before.
	framesBefore, framesAfter = 40, 4
)

// Film draws the conditions of one take of an option.
func (s *Shoot) Film(o *Option, seed uint64) *Film {
	r := rand.New(rand.NewPCG(seed, 0x66696c6d))
	v := o.view
	distance := s.Place.Range.Value + s.Place.Range.U*r.NormFloat64()
	cam := scene.Camera{Width: v.across, Height: v.along, FocalLength: s.lens(o.camera).FocalLength, PixelPitch: o.camera.PixelPitch, Elevation: v.lens, Tilt: v.tilt,
		Exposure: o.Exposure, Blur: lensBlur}
	cam.Readout, cam.RowTime = s.rows(o, r)
	high := s.Light - camera.LightValue(o.Aperture, o.Exposure, o.ISO) // stops too bright; negative: too dark
	side := 0.2 * v.acrossWidth()
	sc := &scene.Scene{
		Camera: cam, Seed: seed, Wind: 2*r.Float64() - 1,
		Light:    scene.Light{Azimuth: 1.6*r.Float64() - 0.8, Height: 0.8, Overcast: math.Min(1, math.Max(0, (15-s.Light)/3)), Exposure: math.Exp2(high), Haze: 0.3},
		Backdrop: scene.Backdrop{Trees: 8, Beyond: 100, Clouds: 0.5, Dry: 0.3, Defocus: 3},
		Sensor:   scene.Sensor{Depth: 8, FullWell: math.Max(leastElectrons, electrons*o.camera.LowestISO/o.ISO), ReadNoise: readNoise, Gamma: 1.8, Mono: true},
	}
	if s.Reference.Kind == camera.KindRod {
		rod := distance
		if s.Reference.Range.Given {
			rod = s.Reference.Range.Value + s.Reference.Range.U*r.NormFloat64()
		}
		sc.Rod = &scene.Rod{Across: -side, Range: rod, Length: s.Reference.Length, Band: s.Reference.Length / float64(s.Reference.Marks-1), Width: math.Max(0.03, 12e-3*o.MMPerPixel)}
	}
	before := framesBefore
	if o.camera.Burst != nil {
		before = restStills
	}
	lean := defaultLean * r.NormFloat64()
	if l := s.Place.Lean; l.Given {
		lean *= l.U / defaultLean
		lean += l.Value
	}
	if s.Expected.falls() {
		lean = 0 // what falls goes plumb
	}
	f := &Film{camera: o.camera, motion: s.Expected.Motion, start: (float64(before) + r.Float64()) / o.Rate}
	sc.Vehicles = []scene.Vehicle{s.Expected.vehicle(distance, lean, f.start)}
	frames := before + int(math.Ceil(o.viewTime*o.Rate)) + framesAfter
	if s.Expected.falls() { // the last frame is the last before it lands
		frames = int((f.start+o.viewTime-o.Exposure)*o.Rate) + 1
	}
	sc.Stamps = scene.Rate(frames, o.Rate)
	q := s.asked()
	basis := timebase.Rate
	if o.camera.Burst != nil {
		basis = timebase.EXIF
	}
	f.Take = &scene.Take{Scene: sc, Title: "Rehearsal of " + o.Name(), Vehicles: []string{"vehicle"}, Basis: basis, Hz: o.Rate, Speeds: q.Speeds, Gates: q.Gates,
		Traced: s.Expected.Length}
	if o.camera.Burst != nil {
		f.Tick = stillTick
	}
	f.last = sc.LastInView(1, s.Expected.Length) - f.start
	f.seen = math.Floor((f.start+f.last-o.Exposure/2)*o.Rate)/o.Rate + o.Exposure/2 - f.start
	return f
}

// Camera is what it was filmed with.
func (f *Film) Camera() Camera { return f.camera }

// Clip says whether the camera writes a clip; 4:2:0 is coded of pictures of even sides only.
func (f *Film) Clip() bool {
	c := f.Take.Scene.Camera
	return f.Tick == 0 && c.Width%2 == 0 && c.Height%2 == 0
}

// vehicle dresses the expected vehicle: a bottle with its spray, unless it is known to have a motor.
func (e Expected) vehicle(distance, lean, start float64) scene.Vehicle {
	v := scene.Vehicle{
		Motion: e.Motion, Start: start, Range: distance, Lean: lean, Shape: scene.Bottle, Length: e.Length, Diameter: e.diameter(), Launcher: true,
		Livery:  scene.Livery{Body: scene.RGB{0.78, 0.77, 0.74}, Nose: scene.RGB{0.58, 0.045, 0.03}, Trim: scene.RGB{0.03, 0.03, 0.035}, Fin: scene.RGB{0.035, 0.10, 0.38}},
		Exhaust: scene.Exhaust{Plume: scene.Spray, To: endOfThrust(e.Motion)},
	}
	switch e.Kind {
	case motion.Motor:
		v.Shape, v.Exhaust.Plume = scene.Rocket, scene.Smoke
	case motion.Dropped:
		v.Shape, v.Exhaust, v.Launcher = scene.Ball, scene.Exhaust{}, false
		v.Falls, v.Pad = true, e.Height+e.Length
	}
	v.Range += v.Diameter / 2 // ranges are stated to the side that faces the camera
	return v
}

// endOfThrust is when a motion no longer gains speed, s from first motion.
func endOfThrust(m Motion) float64 {
	const step, most = 1e-3, 10
	t := step
	for t < most && m.At(t).Acceleration > 0 {
		t += step
	}
	return t
}

// shown is when, from first motion, the last frame was exposed that shows the nose and in which it was followed: what comes later no footage can tell.
func (f *Film) shown(lastFrame int) float64 {
	return math.Min(f.seen, float64(lastFrame)/f.Take.Hz+f.Take.Scene.Camera.Exposure/2-f.start)
}

// lostBy is how many frames before the last that shows the nose a vehicle may be lost and still be seen to the end.
const lostBy = 2

// truth is the truth about an answer, in its unit; ok is false where the film does not show it, followed up to a frame. Peaks are those up to there; one that
// is but a bound, because the vehicle was lost before it left the view, does not answer what was planned.
func (f *Film) truth(a metrology.Answer, lastFrame int) (value float64, ok bool) {
	shown := f.shown(lastFrame)
	if a.Bound != "" && (f.seen-shown)*f.Take.Hz > lostBy {
		return 0, false
	}
	when := func(value float64, of func(flight.State) float64) (float64, bool) {
		t, ok := first(f.motion, value, longest, of)
		return t, ok && t <= f.last
	}
	switch a.ID {
	case motion.TimeToSpeed, motion.MeanAccelerationToSpeed:
		t, ok := when(*a.Speed, speedOf)
		if a.ID == motion.MeanAccelerationToSpeed {
			t = *a.Speed / t
		}
		return t, ok
	case motion.PeakSpeed:
		return TopSpeed(f.motion, shown), true
	case motion.PeakAcceleration:
		return hardest(f.motion, *a.Window, shown), true
	case motion.GateCrossing, motion.GateSpeed:
		t, ok := when(*a.Height, heightOf)
		if a.ID == motion.GateSpeed {
			return f.motion.At(t).Speed, ok
		}
		return f.start + t, ok
	case motion.SplitSpeed:
		from, _ := when(*a.From, heightOf)
		to, ok := when(*a.To, heightOf)
		return (*a.To - *a.From) / (to - from), ok
	case motion.ViewTime:
		return f.last, true
	case motion.FreeFallAcceleration:
		return f.motion.At(f.last / 2).Acceleration, true
	}
	return 0, false
}

// Judged is an answer beside the truth.
type Judged struct {
	Half, Off float64 // of its interval, half the width; how far its value is off: both relative
	Held      bool    // the interval holds the truth
}

// Judge sets an answer that has a value beside the truth, the vehicle being followed up to a frame; ok is false where the film does not show that.
func (f *Film) Judge(a metrology.Answer, lastFrame int) (j Judged, ok bool) {
	truth, ok := f.truth(a, lastFrame)
	if !ok {
		return j, false
	}
	j.Half, j.Off = Relative(a, truth, f.start)
	j.Held = a.Interval[0] <= truth && truth <= a.Interval[1]
	return j, true
}

// hardest is the highest mean acceleration over a window up to a time.
func hardest(m Motion, window, until float64) float64 {
	most := math.Inf(-1)
	const moments = 4000
	for i := range moments + 1 {
		t := math.Max(0, until-window) * float64(i) / moments
		most = math.Max(most, (m.At(t+window).Speed-m.At(t).Speed)/window)
	}
	return most
}
