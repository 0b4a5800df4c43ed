package noise

import "math"

// What all frames at rest err by together does not leave them at once: a codec goes on hiding part of
// the picture, and the reference matches what it was learnt from, until the vehicle has moved by
// some pixels. There each frame keeps some of that error, of its own.
const (
	leavesFrom = 0.4 // px off rest, where all of it has become the frame's own
	leavesHalf = 2   // px, where half of it is left
	leavesTo   = 3   // px, where it is gone
)

// Leaving is the standard deviation of that error of a frame that lies so far off rest, px, over the
// standard uncertainty of what all frames at rest err by together. Of the frames between rest and 2
// px of 70 launches filmed for development (bench/world, seeds 70000 to 70299) the root mean square
// error without it is 1.0 to 1.5 (bottles) and 1.2 to 2.0 (motors) times what is stated, with it 0.3
// to 0.9 and 0.7 to 1.1.
func Leaving(way float64) float64 {
	way = math.Abs(way)
	fade := (leavesTo - way) / (2 * (leavesTo - leavesHalf))
	return math.Min(1, way/leavesFrom) * math.Max(0, math.Min(1, fade))
}
