// Package camera turns pixels of the picture into metres along the flight line, with
// the uncertainty of doing so.
//
// Whatever gives the scale (marks on a rod, an object of known length, known points of a
// plane), what it says along the straight flight line is a one-dimensional projective map,
// height = a s / (1 + c s), with s in pixels from rest: a pinhole camera maps every
// straight line of space to a straight line of the picture that way. Ranges and lean
// change a and c and keep the form. Everything uncertain is a draw of (a, c).
//
// Axes: picture x to the right, y down, the centre of the top left pixel at the origin,
// after rotation. Heights are metres along the flight line, positive in the direction of
// flight (away from the pad), zero at the traced point's rest position. Angles are
// radians; the camera's tilt is positive upwards; a lean is positive away from the camera.
//
// The package does not find marks or the vehicle in pictures, and does not know time.
package camera
