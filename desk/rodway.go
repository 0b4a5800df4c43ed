package desk

import (
	"cmp"
	"math"
	"slices"

	"padside/camera"
	"padside/logbook"
	"padside/motion"
)

// rodStep is what the way of a rod is rounded to, rad: it tells only what goes across it, and what was followed holds while marks are moved a little.
const rodStep = math.Pi / 12

// rodWay is the way in the picture from the lowest mark of a rod to the highest, a unit vector rounded to rodStep; zero where there is no rod.
func rodWay(l *logbook.Launch) [2]float64 {
	marks := l.Scale.Marks
	if l.Scale.Kind != camera.KindRod || len(marks) < 2 {
		return [2]float64{}
	}
	byHeight := func(a, b logbook.RodMark) int { return cmp.Compare(a.At.Value, b.At.Value) }
	low, high := slices.MinFunc(marks, byHeight), slices.MaxFunc(marks, byHeight)
	dx, dy := high.X-low.X, high.Y-low.Y
	if dx == 0 && dy == 0 {
		return [2]float64{}
	}
	y, x := math.Sincos(math.Round(math.Atan2(dy, dx)/rodStep) * rodStep)
	return [2]float64{x, y}
}

// rises says that what flies goes up, as the launch file tells.
func rises(l *logbook.Launch) bool {
	k := flies(l)
	return k == motion.Bottle || k == motion.Motor
}
