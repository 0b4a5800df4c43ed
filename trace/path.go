package trace

import (
	"padside/camera"
	"padside/fault"
)

// Point is where one vehicle was seen in one frame.
type Point struct {
	Frame   int
	X, Y    float64 // px, steadied: shake taken out, in the picture as it was at rest
	Row     float64 // px, the row in this frame as filmed, before steadying: for a rolling shutter
	U       float64 // standard uncertainty along the flight line, px (noise of this frame alone)
	Across  float64 // standard uncertainty across it, px
	Size    float64 // apparent size relative to rest, 1 at rest
	USize   float64 // standard uncertainty of Size
	Quality float64 // normalised correlation with the reference patch, -1 to 1
	Source  string  // "followed" or "marked"
}

// Dropped names a frame in which the vehicle was not found, and why.
type Dropped struct {
	Frame  int
	Reason string
}

// Path is one vehicle's trace. Points are in order of frames; the first ones are at rest.
type Path struct {
	Lane     int // 1 is the leftmost
	Line     camera.FlightLine
	Points   []Point
	Dropped  []Dropped
	LeftView bool    // true when the vehicle left the picture before the footage ended
	Streak   *Streak // the flight as one picture; nil where nothing was followed
	Length   float64 // apparent length of the whole vehicle at rest along the flight line, px; 0 if unknown
}

// Result is what following the footage found.
type Result struct {
	Paths    []Path
	Onset    int // first frame in which the picture differs from rest, within a few frames
	Warnings []fault.Warning
}
