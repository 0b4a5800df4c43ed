package shoot

import "padside/motion"

// Expected is the vehicle and the motion it is expected to have. It goes up, tail below, unless it
// is dropped.
type Expected struct {
	Motion   Motion
	Length   float64     // m, of the vehicle, tail to nose
	Kind     motion.Kind // what flies; motion.AnyKind: not known
	Pressure float64     // Pa gauge, of a bottle; 0: not known
	Height   float64     // m above the ground, of the lower side of what is dropped, before it is
}

// falls says whether it goes down.
func (e Expected) falls() bool { return e.Kind == motion.Dropped }

// sense is the sign of the way: heights above the ground grow along it, or shrink.
func (e Expected) sense() float64 {
	if e.falls() {
		return -1
	}
	return 1
}

// Front is the height above the ground, m, of the end that goes ahead, at rest: the nose, or the
// lower side of what is dropped.
func (e Expected) Front() float64 {
	if e.falls() {
		return e.Height
	}
	return e.Length
}

// After is the height above the ground, m, of that end after a way, m.
func (e Expected) After(way float64) float64 { return e.Front() + e.sense()*way }

// diameter is what a vehicle of its kind and length has, m, as rehearsals draw it.
func (e Expected) diameter() float64 {
	switch e.Kind {
	case motion.Motor:
		return e.Length / 14
	case motion.Dropped:
		return e.Length
	}
	return e.Length / 5
}

// Falls says whether the vehicle goes down.
func (e Expected) Falls() bool { return e.falls() }
