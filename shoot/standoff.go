package shoot

import (
	"fmt"

	"padside/fault"
	"padside/motion"
)

// StandOff is how far people must be from a vehicle, m; nil where none is given. For bottles: 20
// feet without eye protection up to 60 psi, 40 feet above (Water Rocket Safety Code, Berggren, for
// bottles above 1.2 L or 35 psi; a pressure that is not known counts as above). For motors the
// codes have tables by total impulse, none of which could be read for this program, and so none is
// given. Local codes and licensed practice decide.
func (e Expected) StandOff() *float64 {
	const foot, highPressure = 0.3048, 60 * 6894.757293168 // m, Pa
	if e.Kind != motion.Bottle {
		return nil
	}
	off := 40 * foot
	if e.Pressure > 0 && e.Pressure <= highPressure {
		off = 20 * foot
	}
	return &off
}

// cautions are what is said with every plan.
func (s *Shoot) cautions() []fault.Warning {
	if s.Expected.falls() {
		return []fault.Warning{{Code: "stand-off", Message: "nobody stands below what is dropped, nor the camera"}}
	}
	const leave = "set the camera up before, leave it there by itself and start it from outside; a camera is no reason to stand closer"
	var w []fault.Warning
	off := s.Expected.StandOff()
	if off == nil {
		w = append(w, fault.Warning{Code: "stand-off", Message: "ask the range safety officer how far people, and you, must be from the pad while the vehicle is pressurised or its igniter is in: the local code and licensed practice decide, by what flies and by a motor's total impulse; no distance is given here; " + leave})
	} else {
		w = append(w, fault.Warning{Code: "stand-off", Message: fmt.Sprintf(
			"nobody within %.3g m while the bottle is pressurised (Water Rocket Safety Code, without eye protection): the local code, licensed practice and the range safety officer decide, and may ask for more", *off)})
	}
	if s.Expected.Kind != motion.Motor {
		w = append(w, fault.Warning{Code: "pressurised", Message: "prove a bottle full of water, from a distance, at 1.5 times its pressure; wear eye protection; never lean over it"})
	}
	if off != nil && s.Place.Range.Value < *off {
		w = append(w, fault.Warning{Code: "inside-stand-off", Message: fmt.Sprintf("the camera stands at %.3g m, inside the stand-off of %.3g m: %s", s.Place.Range.Value, *off, leave)})
	}
	return w
}
