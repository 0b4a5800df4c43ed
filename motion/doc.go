// Package motion turns the heights of one vehicle, frame by frame, into its motion:
// first motion, speed, acceleration, crossing times, each with an interval.
//
// The vehicle is at rest until first motion. From then on its state (height, speed,
// acceleration, jerk) takes random steps of acceleration and jerk at knots, with constant jerk in
// between. It begins with a step (thrust there at once) or a build-up (thrust rising over
// an unknown time), and thrust lasts, changes at once, changes twice, or ends in a coast
// against gravity and drag, at unknown instants. These structures are averaged by their
// evidence. Noise level, walk strengths, first motion, build-up and changes are integrated
// over together, so every interval carries them.
//
// Answers are computed on joint draws of all of these and of the errors that all frames
// of a setup share.
//
// It does not know of pictures: heights come in nominal metres (Observation), and the
// errors of scale and time base come in as draws (Common).
//
// Units are SI. Height is along the flight line, 0 at rest, positive away from the pad
// (for a drop check: positive along the fall). Time zero is that of the observations.
package motion
