package scene

import (
	"math"
	"math/rand/v2"

	"padside/flight"
	"padside/timebase"
)

// Condition is one line of what is known about a launch, as a launch file has it.
type Condition struct{ Key, Value string }

// Take is a scene with what the person who filmed it would know and ask, and with the truth.
// Every vehicle's motion is a flight.
type Take struct {
	Scene      *Scene
	Title      string
	Setup      string   // the name of the setup it shares with other takes; empty: none
	Model      string   // the name of the flight file of its vehicle; empty: none
	Vehicles   []string // names, by lane
	Flights    []*flight.Flight
	Conditions []Condition
	Basis      timebase.Basis
	Hz         float64   // true capture rate, for timebase.Rate
	Speeds     []float64 // m/s, that are asked for
	Gates      []float64 // m
	Gravity    float64   // m/s2, where it was filmed
	Traced     float64   // m along the vehicle from its tail: the point whose trace Known speaks of
}

// Known is the truth about one answer. At is the speed or the gate it speaks of, or 0.
type Known struct {
	ID    string
	Lane  int
	At    float64
	Value float64
}

// Of says whether the truth is that of an answer: by its id, its lane, and the speed or gate it speaks of.
func (k Known) Of(id string, lane int, at float64) bool {
	return k.ID == id && k.Lane == lane && math.Abs(k.At-at) < 1e-6
}

// Known returns the truth about the answers the footage can give, in SI, by the names of the
// answers: first_motion, time_to_speed, peak_speed, gate_crossing, gate_speed, view_time, and
// free_fall_acceleration (gravity) for what falls.
// Times count from time 0 of the stamps, but for time_to_speed and view_time, which count
// from first motion. What happens after the traced point has left the view is left out.
func (t *Take) Known() []Known {
	var known []Known
	for n, f := range t.Flights {
		lane, start := n+1, t.Scene.Vehicles[n].Start
		add := func(id string, at, value float64) { known = append(known, Known{id, lane, at, value}) }
		last := t.Scene.LastInView(lane, t.Traced)
		add("first_motion", 0, start+f.FirstMotion)
		for _, v := range t.Speeds {
			if at, ok := f.SpeedReached(v); ok && start+at <= last {
				add("time_to_speed", v, at-f.FirstMotion)
			}
		}
		_, peak := f.PeakSpeed(last - start)
		add("peak_speed", 0, peak)
		for _, h := range t.Gates {
			if at, ok := f.HeightReached(h); ok && start+at <= last {
				add("gate_crossing", h, start+at)
				add("gate_speed", h, f.At(at).Speed)
			}
		}
		add("view_time", 0, last-start-f.FirstMotion)
		if t.Scene.Vehicles[n].Falls {
			add("free_fall_acceleration", 0, t.Gravity)
		}
	}
	return known
}

// chance draws the conditions of a take.
type chance struct{ *rand.Rand }

func newChance(seed, kind uint64) chance { return chance{rand.New(rand.NewPCG(seed, kind))} }

// between draws evenly from [lo, hi).
func (c chance) between(lo, hi float64) float64 { return lo + (hi-lo)*c.Float64() }

// pick draws one of the choices.
func pick[T any](c chance, choices ...T) T { return choices[c.IntN(len(choices))] }

// light draws the light of a day.
func (c chance) light() Light {
	return Light{
		Azimuth: c.between(-1.2, 1.2), Height: c.between(0.45, 1.05), Overcast: math.Pow(c.Float64(), 1.5) * 0.85,
		Haze: c.between(0, 0.7), Warmth: c.between(-0.3, 0.8),
	}
}

// field draws what lies behind.
func (c chance) field(defocus float64) Backdrop {
	return Backdrop{Trees: c.between(5, 11), Beyond: c.between(70, 150), Clouds: c.between(0.25, 0.75),
		Dry: c.between(0, 0.6), Defocus: defocus}
}

// livery draws a colour scheme.
func (c chance) livery() Livery {
	white, black := RGB{0.78, 0.77, 0.74}, RGB{0.03, 0.03, 0.035}
	red, orange := RGB{0.58, 0.045, 0.03}, RGB{0.75, 0.24, 0.03}
	blue, yellow, green := RGB{0.035, 0.10, 0.38}, RGB{0.80, 0.58, 0.06}, RGB{0.03, 0.24, 0.10}
	return pick(c,
		Livery{Body: white, Nose: red, Trim: black, Fin: red},
		Livery{Body: yellow, Nose: black, Trim: black, Fin: blue},
		Livery{Body: white, Nose: blue, Trim: orange, Fin: blue},
		Livery{Body: orange, Nose: white, Trim: black, Fin: black},
		Livery{Body: white, Nose: black, Trim: green, Fin: green},
	)
}

// name draws an invented name for a vehicle.
func (c chance) name() string {
	return pick(c, "Heron", "Sprat", "Marsh Wren", "Old Kettle", "Skylark Five", "Tin Lizard", "Bramble", "Dragonfly",
		"Kingcup", "Teasel", "Plover", "Quickthorn")
}

// orFlight panics where a preset's own numbers do not fly: a broken invariant of this package.
func orFlight(f *flight.Flight, err error) *flight.Flight {
	if err != nil {
		panic("scene: a preset does not fly: " + err.Error())
	}
	return f
}
