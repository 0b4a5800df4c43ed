// Package footage opens what a camera recorded, a clip or a run of stills, and hands out the
// brightness of each frame at full depth together with the time stamp the camera gave it.
//
// Clips are decoded by the ffmpeg and ffprobe programs as child processes, in one pass, every
// frame once and none twice; stills (JPEG, PNG, TIFF) need nothing installed. The package
// reports what the file says about time and how far to believe it. It does not decide which
// time is true: that is package timebase's work.
//
// Read is one pass in order; Glimpse looks through quickly; Frame and Picture answer for single frames, from a cache and from
// decoders that stand where the last step led. Frame numbers are the same by every way, and stand where a file is damaged: what
// cannot be decoded is left out, and Info tells of it. Files are not trusted: sizes, counts and child processes are bounded.
//
// Brightness is the Y plane as coded, with no change of range. RGB sources have no such plane:
// there it is the weighted sum of Rec. ITU-R BT.601 as their decoder computes it. Pixels: x to
// the right, y down, the centre of the top left pixel is (0, 0), after rotation. Times in seconds.
package footage
