// Package desk is what a user can ask for, one function each: measure a launch, inspect
// footage, run the demo. The command line and every other face are thin over it: they parse,
// ask the desk, and show.
//
// It holds no method of its own: it carries the launch file to the packages that know
// (footage, timebase, trace, camera, motion) and gathers what they say.
// Quantities are SI; pixels follow the picture's convention (x right, y down, the centre of
// the top left pixel at the origin).
package desk
