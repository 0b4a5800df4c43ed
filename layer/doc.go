// Package layer finds where along its flight line a vehicle is in every frame of a clip, and how
// sure that is, from one likelihood and one pass over all frames.
//
// What a frame shows along the flight line is either the background, which other frames show, or
// the vehicle, a layer before it. A place is as likely as the vehicle there explains the frame
// better than the background alone does (likelihood.go). Several places may do so: the true one,
// one a band of paint farther on, an edge of the background. Those of all frames are joined by a
// prior of how things move, forward and backward in time, so that each frame's places are judged by
// all frames (chain.go). What comes out is a posterior: the probability of each place, and the
// probability that the vehicle is at none of them.
//
// Places are in cells of a [Band]: the flight band of each frame, laid flat with the camera's
// movement taken out. Rows run up the flight line, columns across it.
package layer
