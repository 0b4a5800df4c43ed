package flight

import "math"

// Apogee returns the instant and height of the highest point; ok is false where none was
// reached (no gravity, or a Drop).
func (f *Flight) Apogee() (t, height float64, ok bool) {
	if f.apogee == nil {
		return 0, 0, false
	}
	t = *f.apogee
	_, y := f.find(t)
	return t, y[0], true
}

// HeightReached returns the instant at which height is first reached.
func (f *Flight) HeightReached(height float64) (t float64, ok bool) {
	if height <= 0 {
		return f.FirstMotion, height == 0
	}
	for _, s := range f.steps() {
		if s.at(s.end())[0] >= height {
			return bisect(s.t, s.end(), func(t float64) bool { return s.at(t)[0] >= height }), true
		}
		if f.apogee != nil && s.end() >= *f.apogee {
			break
		}
	}
	return 0, false
}

// SpeedReached returns the instant at which speed is first reached. What launches are asked
// for is the time from FirstMotion until then.
func (f *Flight) SpeedReached(speed float64) (t float64, ok bool) {
	if speed <= 0 {
		return f.FirstMotion, speed == 0
	}
	for l, s := range f.steps() {
		top := s.fastest(l)
		if s.at(top)[1] >= speed {
			return bisect(s.t, top, func(t float64) bool { return s.at(t)[1] >= speed }), true
		}
	}
	return 0, false
}

// PeakSpeed returns the highest speed up to the time until, and when it was reached.
func (f *Flight) PeakSpeed(until float64) (t, speed float64) {
	t = f.FirstMotion
	for l, s := range f.steps() {
		if s.t >= until {
			break
		}
		at := math.Min(until, s.fastest(l))
		if v := s.at(at)[1]; v > speed {
			t, speed = at, v
		}
	}
	return t, speed
}

// PeakAcceleration returns the highest mean acceleration over any stretch of window seconds
// that ends by until, and when that stretch begins. Window 0 gives the highest
// acceleration of an instant.
func (f *Flight) PeakAcceleration(window, until float64) (t, acceleration float64) {
	acceleration = math.Inf(-1)
	if window <= 0 {
		for l, s := range f.steps() {
			if s.t >= until {
				break
			}
			for _, at := range [...]float64{s.t, math.Min(until, s.end())} {
				if a := l.field(at, s.at(at))[1]; a > acceleration {
					t, acceleration = at, a
				}
			}
		}
		return t, acceleration
	}
	until = math.Max(until, f.FirstMotion+window)
	mean := func(t float64) float64 { return (f.At(t+window).Speed - f.At(t).Speed) / window }
	try := func(at float64) {
		if at < f.FirstMotion || at+window > until {
			return
		}
		if a := mean(at); a > acceleration {
			t, acceleration = at, a
		}
	}
	try(f.FirstMotion)
	try(until - window)
	for _, s := range f.steps() {
		try(s.t)
		try(s.t - window)
	}
	reach := window / 8
	for range 60 { // close in on the best stretch
		for _, at := range [...]float64{t - reach, t + reach} {
			try(at)
		}
		reach *= 0.7
	}
	return t, acceleration
}

// steps walks the steps of all legs in order of time.
func (f *Flight) steps() func(yield func(*leg, *step) bool) {
	return func(yield func(*leg, *step) bool) {
		for i := range f.legs {
			l := &f.legs[i]
			for j := range l.steps {
				if !yield(l, &l.steps[j]) {
					return
				}
			}
		}
	}
}

// fastest returns the instant of highest speed within the step: an end, or where the
// acceleration passes through zero.
func (s *step) fastest(l *leg) float64 {
	first, last := s.startRate(1), s.endRate(1)
	switch {
	case last >= 0 && first >= 0:
		return s.end()
	case first <= 0 && last <= 0:
		return s.t
	case first > 0:
		return bisect(s.t, s.end(), func(t float64) bool { return l.field(t, s.at(t))[1] <= 0 })
	}
	if s.at(s.t)[1] > s.at(s.end())[1] {
		return s.t
	}
	return s.end()
}
