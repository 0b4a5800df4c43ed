// Package stabilise measures the camera's motion from still background.
//
// Background registers small patches of still background in every frame and fits pan, tilt, roll
// and change of size to their shifts, leaving out patches that move by themselves. Drift does so in
// footage that is coded between frames, where still background is copied from frame to frame and
// only what is coded anew shows where the camera is.
//
// Both say by how much a place at rest is seen elsewhere in a frame (Shift), with its standard
// uncertainty. They know nothing of vehicles but the areas to leave out. Coordinates are pixels as
// filmed: x to the right, y down, the centre of the top left pixel is (0, 0); times are in seconds.
package stabilise
