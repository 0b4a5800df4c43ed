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
