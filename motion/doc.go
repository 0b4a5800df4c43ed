// Package motion turns the heights of one vehicle, frame by frame, into its motion:
// first motion, speed, acceleration, crossing times, each with an interval.
//
// The vehicle is at rest until first motion. From then on its state (height, speed,
// acceleration) follows a random walk of the acceleration, on top of a launch that is
// either a step (thrust there at once) or a build-up (thrust rising steadily over an
// unknown time); at an unknown instant thrust may end in a jump, after which the walk
// has a strength of its own. Noise level, walk strengths, first motion, build-up and changes of
// thrust are unknown and are integrated over together, so every interval carries them.
// Answers are computed on joint draws of all of these and of the errors that all frames
// of a setup share.
//
// It does not know of pictures: heights come in nominal metres (Observation), and the
// errors of scale and time base come in as draws (Common).
//
// Units are SI. Height is along the flight line, 0 at rest, positive away from the pad
// (for a drop check: positive along the fall). Time zero is that of the observations.
package motion
