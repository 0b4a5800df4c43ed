// Package desk is what a user can ask for, one function each: measure a launch, compare launches, race them, run a heat, predict and explain a
// flight, plan and rehearse a shoot, run the demo; and of a logbook that is open ([Desk]) all of that from what was kept, with edits, jobs and
// events. The command line and the pages are thin over it: they parse, ask the desk, and show.
//
// It holds no method of its own: it carries files to the packages that know (footage, timebase, trace, camera, motion, study, explain, shoot) and
// gathers what they say.
// Quantities are SI; pixels follow the picture's convention (x right, y down, the centre of
// the top left pixel at the origin).
package desk
