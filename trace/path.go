package trace

import (
	"math"
	"slices"

	"padside/camera"
	"padside/fault"
	"padside/stabilise"
)

// Point is where one vehicle was seen in one frame.
type Point struct {
	Frame   int
	X, Y    float64    // px, steadied: shake taken out, in the picture as it was at rest
	Col     float64    // px, the column in this frame as filmed, before steadying; with Row for a rolling shutter
	Row     float64    // px, the row
	U       float64    // standard uncertainty along the flight line of this frame alone, px: white noise
	Across  float64    // standard uncertainty across it, px
	UPhase  float64    // beside it, px, what PhaseU stands for in frames that lie off rest
	UDoubt  float64    // beside both, px, what shape and background leave, and another reference or start shows: correlated, 0 at rest (package noise)
	Phase   [2]float64 // where between pixels the point lies: cosine and sine, less what blur takes away; see PhaseU
	Size    float64    // apparent size relative to rest, 1 at rest
	USize   float64    // standard uncertainty of Size from this frame's pixels alone; backgrounds may shift all by 0.02. 1: not known
	Quality float64    // normalised correlation with the reference patch, -1 to 1
	Source  string     // SourceFollowed, SourceCoarse or SourceMarked
	Copy    bool       // the codec made the patch of other frames: the point adds nothing to theirs
}

// Total is the standard uncertainty of the place along the flight line, px, all its parts together.
func (p *Point) Total() float64 { return math.Sqrt(p.U*p.U + p.UPhase*p.UPhase + p.UDoubt*p.UDoubt) }

// Where a point comes from.
const (
	SourceFollowed = "followed" // matched to a small fraction of a pixel
	SourceCoarse   = "coarse"   // only the search by correlation found it
	SourceMarked   = "marked"   // set by hand
)

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
	RestU    float64 // px, standard uncertainty along the line of what all points at rest err by together, against those in motion
	Length   float64 // apparent length of the whole vehicle at rest along the flight line, px; 0 if unknown
	Ruler    Ruler   // how the length of its barrel changes on the way; Frames 0: not seen
}

// Result is what following the footage found.
type Result struct {
	Paths    []Path
	Onset    int // first frame in which the picture differs from rest, within a few frames
	Exposure Exposure
	Warnings []fault.Warning

	steady    *stabilise.Background // the camera's movement; nil where nothing was followed
	fromMarks bool                  // marks took part in following
	plain     *Result               // what was followed before marks; nil where that is this one
}

// Marked returns the result with other marks set by hand, without following anew: the marks win over what was followed, everywhere
// else that stays. It reports false where that is not enough: a mark lies where the vehicle had been lost, so that
// following may take it up again from there, or r was itself followed from marks, or not at all.
func (r *Result) Marked(marks []Mark) (*Result, bool) {
	base := r
	if r.plain != nil {
		base = r.plain
	}
	if base.steady == nil || base.fromMarks {
		return nil, false
	}
	if len(marks) == 0 {
		return base, true
	}
	out := *base
	out.plain, out.Paths = base, slices.Clone(base.Paths)
	for i := range out.Paths {
		p := &out.Paths[i]
		own := Options{Marks: marks}.marksOf(p.Lane)
		for f := range own {
			if n := len(p.Points); n == 0 || f > p.Points[n-1].Frame || f < p.Points[0].Frame {
				return nil, false
			}
		}
		p.Points, p.Dropped = slices.Clone(p.Points), slices.Clone(p.Dropped)
		p.mark(own, base.steady.At)
	}
	return &out, true
}

// Shake is how far the camera's movement shows what was at (x, y) at rest elsewhere in a frame, px: it is seen at (x+dx, y+dy). It
// is zero where the movement was not measured, and good to about a pixel: for pictures, not for heights.
func (r *Result) Shake(frame int, x, y float64) (dx, dy float64) {
	if r.steady == nil {
		return 0, 0
	}
	return r.steady.Raw(frame, x, y)
}

// Steadied says whether the camera's movement is known in a frame.
func (r *Result) Steadied(frame int) bool { return r.steady != nil && r.steady.Knows(frame) }
