package scene

import (
	"fmt"
	"math"

	"padside/flight"
	"padside/timebase"
)

// BallDrop is a ball let go 2 to 4 m up beside a rod, filmed at 120 Hz in one channel: for
// the drop check. The last frame is the last before it lands.
func BallDrop(seed uint64) *Take {
	c := newChance(seed, 0x64726f70)
	high, distance, hz := c.between(2.2, 3.8), c.between(4, 7), 120.0
	view := high + 0.5
	cam := Camera{Width: 480, Height: 960, PixelPitch: 4.8e-6, Elevation: c.between(1, 1.5), Exposure: 1 / pick(c, 1000., 2000.),
		Roll: c.between(-0.3, 0.3) * math.Pi / 180, Blur: c.between(0.5, 0.7)}
	cam.FocalLength = distance / view * float64(cam.Height) * cam.PixelPitch
	cam.Tilt = math.Atan((view/2 - 0.15 - cam.Elevation) / distance)
	d := flight.Drop{Mass: c.between(0.055, 0.2), Diameter: c.between(0.064, 0.075), DragCoefficient: 0.5, Site: flight.StandardSite()}
	d.Height = high - d.Diameter
	f := orFlight(d.Fly())
	v := Vehicle{
		Motion: f, Start: c.between(18, 30) / hz, Across: 0.05, Range: distance, Pad: high, Falls: true,
		Shape: Ball, Length: d.Diameter, Diameter: d.Diameter, Livery: Livery{Body: RGB{0.50, 0.13, 0.02}, Trim: RGB{0.85, 0.84, 0.8}},
	}
	s := &Scene{
		Camera: cam, Light: c.light(), Backdrop: c.field(c.between(2, 4)), Vehicles: []Vehicle{v}, Seed: seed,
		Sensor: Sensor{Depth: 8, FullWell: c.between(5000, 12000), ReadNoise: 8, Gamma: 1.8, Mono: true},
		Rod:    &Rod{Across: -0.35, Range: distance + c.between(-0.2, 0.2), Base: 0.1, Length: math.Floor(high*2) / 2, Band: 0.1, Width: 0.04},
	}
	s.Stamps = Rate(int((v.Start+f.End-cam.Exposure)*hz)+1, hz)
	return &Take{
		Scene: s, Title: fmt.Sprintf("ball dropped from %.1f m", high), Vehicles: []string{"ball"}, Flights: []*flight.Flight{f},
		Basis: timebase.Rate, Hz: hz, Speeds: []float64{2, 5}, Gates: []float64{0.5, 1, 1.5}, Gravity: d.Site.Gravity, Traced: d.Diameter / 2,
	}
}

// BallDropNear is a lighter ball let go 2.2 to 2.8 m up, filmed with a phone held 2 to 3 m away and tilted down by 5 to 15
// degrees: the scale changes by a tenth to a third over the fall, and the rows along it are read over 5 to 8 ms, so that a frame shows the
// ball at the floor as much later than under the ceiling.
func BallDropNear(seed uint64) *Take {
	c := newChance(seed, 0x6e656172)
	t := BallDrop(seed)
	s, hz := t.Scene, t.Hz
	high, distance := c.between(2.2, 2.8), c.between(2, 3)
	d := flight.Drop{Mass: c.between(0.012, 0.06), Diameter: c.between(0.04, 0.065), DragCoefficient: c.between(0.42, 0.5), Site: flight.StandardSite()}
	d.Height = high - d.Diameter
	f := orFlight(d.Fly())
	cam := &s.Camera
	cam.Tilt, cam.Elevation = -c.between(5, 15)*math.Pi/180, c.between(1.5, 1.9)
	cam.RowTime, cam.Exposure = c.between(5e-3, 8e-3)/float64(cam.Height), 1/pick(c, 500., 1000.)
	sees := func(y float64) float64 { return math.Abs(math.Tan(math.Atan((y-cam.Elevation)/distance) - cam.Tilt)) }
	cam.FocalLength = float64(cam.Height) / 2 / math.Max(sees(high+0.15), sees(-0.1)) * cam.PixelPitch
	v := &s.Vehicles[0]
	v.Motion, v.Range, v.Pad, v.Length, v.Diameter = f, distance, high, d.Diameter, d.Diameter
	s.Rod.Range, s.Rod.Length = distance+c.between(-0.1, 0.1), 2
	s.Stamps = Rate(int((v.Start+f.End-cam.Exposure-float64(cam.Height)*cam.RowTime)*hz)+1, hz)
	t.Title, t.Flights, t.Traced = fmt.Sprintf("ball dropped from %.1f m, filmed from near by", high), []*flight.Flight{f}, d.Diameter/2
	return t
}
