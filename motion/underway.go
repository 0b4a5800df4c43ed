package motion

// A vehicle may move in the first frame already: footage cut in flight, a body that flies through
// the picture. That is a beginning of its own: at the first frame it has any height, and a speed,
// an acceleration and a jerk of about the size that the view shows. First motion lies before the
// footage then, where nothing was filmed: no other beginning reaches back there, and what leans on
// it is not answered.

// Scales of the state in the first frame, relative to the mean speed and the acceleration that goes
// that way from rest, and ln of the odds of such footage: few begin to film a launch when it is
// over (common practice, no source).
const (
	underWaySpeed = 2.0
	underWayAccel = 1.0
	underWayOdds  = -1.5
)

// underWayGrid is the one instant there is, the first frame.
func (s *series) underWayGrid() grid { return grid{s.t[0] - 0.5, 1, 1} }

// firstState takes the likelihood back over the first frame's speed, acceleration and jerk.
func (k *track) firstState() {
	s := k.p.series
	k.s.renew(startJerk*s.accel/s.span, k.note(jerkSet))
	k.s.brake(0, underWayAccel*s.accel, k.note(accelSet))
	k.s.dash(underWaySpeed*s.accel*s.span/2, k.note(speedSet))
}

// kickSpeed takes the function back over a step of the speed of variance v, and fills g in unless
// that is nil.
func (s *ahead) kickSpeed(v float64, g *gain) {
	L := &s.L
	f := 1 + v*L.vv
	s.reduce(v/f, s.e.v, vec{L.hv, L.vv, L.va, L.vj}, s.phase.speeds(), g)
	s.gather(f)
}

// dash takes the function back over an instant at which the speed is drawn afresh from N(0,
// scale^2), whatever it was before.
func (s *ahead) dash(scale float64, g *gain) {
	s.kickSpeed(scale*scale, g)
	if g != nil {
		g.L.v = 0
	}
	s.noSpeed()
}

// noSpeed is after the speed was taken out.
func (s *ahead) noSpeed() {
	L := &s.L
	L.hv, L.vv, L.va, L.vj, s.e.v = 0, 0, 0, 0, 0
	for i := range s.phase.x {
		s.phase.x[i].v = 0
	}
}

// underWay is the posterior probability that the vehicle moves in the first frame already.
func (post *posterior) underWay() (p float64) {
	for i, pop := range post.pops {
		if pop.problem.shape.underWay() {
			p += post.share[i]
		}
	}
	return p
}
