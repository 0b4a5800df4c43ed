// Package flight is the physics of a launch: bottle rockets, solid-motor rockets and
// dropped balls, the air they fly through and the gravity that pulls them back.
//
// A model (Bottle, Motor, Drop) is a set of inputs; its Fly method integrates the
// equations of motion once and returns a Flight, which can be asked for height, speed
// and acceleration at any time and for the exact instants of first motion, end of
// thrust, apogee, and of reaching a speed or a height.
//
// Motion is one-dimensional, along a straight flight line. Height is in metres along
// that line, 0 at rest, positive away from the pad (for a Drop: positive along the fall).
// Time is in seconds, 0 at ignition (motor) or release (bottle, ball). Everything is SI.
//
// What it leaves out: wind, steering and spin, drag that depends on Mach number,
// recovery devices, and, for bottles, the height of the water column, its inertia,
// condensation of water vapour (state an Exponent below 1.4 for it) and mixing of air
// with the last water. Predictions are estimates, not clearance: for pressurised bottles
// and motors local codes and licensed practice decide.
package flight
