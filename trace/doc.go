// Package trace finds the vehicles in the footage and follows them from frame to frame to a
// fraction of a pixel, with the uncertainty of each frame.
//
// It works in two stages. While the footage is read, a coarse search by normalised correlation
// keeps up with each vehicle and with the camera's movement, and keeps a small piece of every
// frame, which is made ready for the second stage meanwhile. Then, with the whole flight known, the
// fine stage learns a reference from the frames at rest, learns which pixels let the background
// through, and matches every piece. How a reference is found in a picture is package register's,
// how the camera moves package stabilise's.
//
// It knows nothing of metres or of what moves the vehicle. Coordinates are pixels: x to the
// right, y down, the centre of the top left pixel is (0, 0), after rotation. Brightness is in
// levels of an 8-bit picture whatever the depth. Times (s) are the caller's.
package trace
