// Package picture draws what was measured: the streak with its trace, a race of launches, a frame with
// the trace laid on it. It draws what it is given and computes no result.
//
// Sizes are pixels of the picture made; times are seconds, heights metres, both along the
// axes of the data (time to the right, height up).
package picture
