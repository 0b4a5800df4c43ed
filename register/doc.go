// Package register finds where a picture shows what a reference shows: to the nearest pixel by
// correlation (Searcher), and to a small fraction of a pixel by least squares (Matcher), with the
// covariance of the place.
//
// A Patch is a reference cut out of the picture and averaged over frames, a Field how it looks,
// blurred by motion or not, a Spline a window of the picture ready for interpolation. A reference
// may let the background through in part; then it is composed anew over the background behind it.
//
// It knows nothing of frames, times, vehicles or cameras. Coordinates are pixels: x to the right, y
// down, the centre of the top left pixel of a picture or window is (0, 0). Brightness is in levels
// of an 8-bit picture whatever the depth.
//
// Errors: bias below 0.005 px at any place between pixels, below 0.001 px where the picture has no
// aliasing; noise at the Cramer-Rao bound of white noise (Robinson & Milanfar, IEEE Trans. Image
// Process. 13:1185, 2004). bench/subpixel prints both. An edge sharper than a pixel adds an error
// of period one pixel that the covariance does not hold.
package register
