// Package shoot thinks a shoot through before anyone drives to the field: what each camera mode would see, in what light, how many frames of the
// launch it would catch, and whether those could answer the questions asked.
//
// The last is not estimated by a formula. The heights of the expected motion are simulated frame by frame, with the noise and the marks a
// measurement would have, and given to the packages that measure (camera, motion): the half width foreseen is the one they state.
//
// Axes: heights above the ground are metres on the upright flight line, 0 under the vehicle's tail, positive up; ways are metres from rest along it.
// In the picture x points right and y down, the centre of the top left pixel is (0, 0), upright as the flight is seen: where the camera lies on
// its side, its columns run along the flight. Times are seconds from first motion. Angles are radians, tilt is positive up. Light is EV at ISO 100.
//
// What it leaves out: lens distortion, wind and lean of the flight beyond what every measurement allows for, compression of clips, and whether the
// vehicle can be told from what stands behind it, but for how often that hides how long it looks. A rehearsal, which films the plan and measures the pictures, shows more of that.
package shoot
