// Package noise is the error model of the heights of one flight, the same for whoever takes them
// over: what a trace states of its errors, and what is not known of that. The height of frame i
// errs by the sum of independent parts:
//
//	own         white: normal, of standard uncertainty U[i]
//	phase       q0 cos + q1 sin of where between two pixels the point lies (Phase), the
//	            amplitudes q of standard uncertainty PhaseU common to all frames
//	at rest     one number of standard uncertainty RestU that all frames at rest share
//	correlated  DoubtU[i] d(s[i]) in flight, nothing at rest: d is a stationary Gaussian process
//	            of variance size^2 along the time or the way s, of unknown size, length, kind
//
// The first three are linear in few unknowns, and every user fits or draws those. What is not
// known of the last is a list of hypotheses (Hypotheses), one for all; a user integrates over it.
// The process has a state of two numbers (State), carried from frame to frame by a Step: so it
// can be filtered, whitened (Whitener), smoothed and drawn (Draw) in linear time. Units: heights
// and their uncertainties in any one unit, m or px; times and ways in any one unit too, for only
// their ratio to the correlation length counts.
package noise
