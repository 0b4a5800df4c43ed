package motion

import "math"

// A flight may end against the ground, which may throw the vehicle back: its speed is another one
// at once, and so are acceleration and jerk. That is an ending of its own, asked for where the
// heights show a speed that drops by half at once, and believed as far as its evidence goes. The
// peaks of the flight lie before it.

// What the ground leaves: a speed of the size of that of the impact at most, and an acceleration of
// gravity in free flight or none at rest (m/s2, standard deviation). ln of the odds that a launch
// lands in view; what is let go does.
const (
	landedAccel = 15.0
	landedOdds  = -3.0
)

// landed takes the likelihood back over the impact.
func (k *track) landed() {
	s := k.p.series
	k.s.renew(s.jerkIn(coastJerk), k.note(jerkSet))
	k.s.brake(0, landedAccel*s.accelIn(1), k.note(accelSet))
	k.s.dash(s.accel*s.span, k.note(speedSet))
}

// untilSecondLanding cuts what follows a second impact: it says nothing of the flight.
func untilSecondLanding(obs []Observation) []Observation {
	end := landing(obs)
	if end >= len(obs) {
		return obs
	}
	turn := end
	for i := end; i < len(obs); i++ {
		if obs[i].H < obs[turn].H {
			turn = i
		}
	}
	if !(obs[turn].H < obs[end].H-offRest*math.Hypot(obs[turn].U, obs[end].U)) {
		return obs
	}
	if next := turn + landing(obs[turn:]); next < len(obs) {
		return obs[:max(next-1, turn)]
	}
	return obs
}

// impact returns the last frame before a landing and whether there is one to be asked for.
func (s *series) impact() (frame int, ok bool) { return s.lastFlying, s.lastFlying > s.move }
