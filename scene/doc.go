// Package scene draws synthetic footage of launches whose truth is known: for the demo, for
// rehearsals, for tests and for benchmarks of accuracy.
//
// World axes: X to the right and Y up as the camera sees them, Z away from it; the origin is
// the ground below the camera, so the camera stands at (Across, Elevation, 0). All in metres.
// Pixels: x right, y down, the centre of the top left pixel is (0, 0). Time is in seconds; frame 0's
// stamp is 0 unless Scene.Stamps says otherwise; a stamp marks the start of exposure of the row,
// or column, that is read first.
// Light is linear and relative to white (1) until the sensor turns it into numbers.
//
// How it draws: a vehicle's body, or a ball, is a solid of revolution (body.go), fins, launcher and rod are flat things standing in the world,
// all seen through a pinhole. Along the picture's columns the coverage of each pixel and its
// average over the exposure are integrated in closed form, of solids too, for what a ray meets of a body that moves along its axis is in closed form; across them eight samples are
// taken per pixel. The truth about a vehicle speaks of points of its axis, unless it is asked for others (Before). The backdrop is a field of tiles, a pixel wide or half of one where the camera
// shakes, whose areas are averaged. Nothing is interpolated, so that what measures these pictures shares no method
// with what drew them; but for a backdrop that turns, zooms or sways, which is looked up along straight lines between places 8 px apart.
//
// It leaves out: shadows and reflections between things, chromatic aberration, compression
// (but for what the clip's codec does), movement of the camera, of people and of flags within one exposure, and what a vehicle
// that turns its nose (Cock) or spins moves within one.
package scene
