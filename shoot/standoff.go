package shoot

import (
	"fmt"

	"padside/fault"
)

// StandOff is how far people must be from a vehicle, m, with where that comes from. For bottles: 20 feet without eye protection up to 60 psi, 40 feet above
// (Water Rocket Safety Code, Berggren); for motors 30 feet, and 100 feet for high power (the hobby's codes, from memory). An unknown vehicle
// counts as a bottle at high pressure. Local codes and licensed practice decide.
func (e Expected) StandOff() float64 {
	const foot, highPressure = 0.3048, 60 * 6894.757293168 // m, Pa
	switch {
	case e.Kind == "motor" && e.Power:
		return 100 * foot
	case e.Kind == "motor":
		return 30 * foot
	case e.Kind == "bottle" && e.Pressure > 0 && e.Pressure <= highPressure:
		return 20 * foot
	}
	return 40 * foot
}

// cautions are what is said with every plan.
func (s *Shoot) cautions() []fault.Warning {
	off := s.Expected.StandOff()
	w := []fault.Warning{{Code: "stand-off", Message: fmt.Sprintf(
		"nobody within %.3g m while the vehicle is pressurised or its igniter is in: the local code, licensed practice and the range safety officer decide, and may ask for more", off)}}
	if s.Expected.Kind != "motor" {
		w = append(w, fault.Warning{Code: "pressurised", Message: "prove a bottle full of water, from a distance, at 1.5 times its pressure; wear eye protection; never lean over it"})
	}
	if s.Place.Range.Value < off {
		w = append(w, fault.Warning{Code: "inside-stand-off", Message: fmt.Sprintf(
			"the camera stands at %.3g m, inside the stand-off of %.3g m: set it up before, leave it there by itself and start it from outside; a camera is no reason to stand closer", s.Place.Range.Value, off)})
	}
	return w
}
