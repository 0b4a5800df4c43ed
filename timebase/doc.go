// Package timebase knows the true time of every frame and row of a footage.
//
// Times are in seconds, exact rationals inside; time zero is frame 0's stamp. A stamp marks
// the start of the exposure; the picture is centred half an exposure later, and a rolling
// shutter reads the sensor's row y (0 = first) y*RowTime after its first (Shutter). In footage that was turned upright those rows may be
// the picture's columns: see Readout.
//
// A Base is exact about what a file states and explicit about what it does not: the rate's
// relative uncertainty is one common factor of the launch (RateU), the rounding of a stamp
// is each frame's own (StampU). The package opens no file and guesses no rate: whether
// stamps are playback time of slowed footage is for package footage to say.
package timebase
