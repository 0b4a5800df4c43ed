package layer

import "math"

// What changes the template's looks on the way: the speed draws it out, and the distance from the
// camera makes it larger or smaller.

// blur is by how many cells the vehicle is drawn out in frame i of the band.
func (l *locator) blur(i int) float64 { return l.speed(i) * l.k.Exposure }

// speedReach is how many frames away a place may lie from which the speed in a frame is told.
const speedReach = 12

// speed is how fast the places say it goes in frame i, cells/s: from the last place up to there to
// the next one, or over the last two.
func (l *locator) speed(i int) float64 {
	at := func(from, step int) int {
		for k := from; k >= 0 && k < len(l.places) && (k-i)*(k-i) < speedReach*speedReach; k += step {
			if l.places[k].weight > 0 {
				return k
			}
		}
		return -1
	}
	a, b := at(i, -1), at(i+1, 1)
	if b < 0 && a > 0 {
		a, b = at(a-1, -1), a
	}
	if a < 0 || b < 0 {
		return 0
	}
	return math.Abs(l.places[b].row-l.places[a].row) / (l.b.Frames[b].T - l.b.Frames[a].T)
}

// size is how large the vehicle is seen at a place, 1 at rest, if it is seen larger by that much
// per cell of its way.
func (l *locator) size(p lesson, grows float64) float64 {
	if p.weight == 0 {
		return 1
	}
	return min(max(1+grows*(p.row-l.b.row(0)), leastSize), mostSize)
}

const (
	leastSize, mostSize = 0.6, 1.6
	growths             = 6    // rates of growth that are tried, either way,
	growthStep          = 0.05 // this far apart, over the whole way
	growthCost          = 0.002
	leastGrowth         = 10 // cells of way that tell it
	growthFrames        = 16
)

// grow tells by how much the vehicle is seen larger on its way: of several rates the one that lets
// it explain best the frames in which it was found far from its start.
func (l *locator) grow() {
	start, most := l.b.row(0), 0.0
	for _, p := range l.places {
		if p.weight > sure {
			most = max(most, p.row-start)
		}
	}
	var far []int
	for i, p := range l.places {
		if p.weight > sure && p.row-start > most/3 {
			far = append(far, i)
		}
	}
	if most < leastGrowth {
		return
	}
	if n := len(far); n > growthFrames {
		for i := range growthFrames {
			far[i] = far[i*n/growthFrames]
		}
		far = far[:growthFrames]
	}
	rate := func(k int) float64 { return float64(k-growths) * growthStep / most }
	explains := make([][2*growths + 1]float64, len(far))
	newSight(l.b, l.d).inEach(far, l.k.workers(), func(s *sight, n int) {
		for k := range explains[n] {
			explains[n][k] = l.explained(s, far[n], rate(k))
		}
	})
	best, at := math.Inf(-1), 0.0
	for k := range 2*growths + 1 {
		sum := 0.0
		for n := range explains {
			sum += explains[n][k]
		}
		if sum -= growthCost * float64((k-growths)*(k-growths)); sum > best {
			best, at = sum, rate(k)
		}
	}
	l.grows = at
}

// explained is how much better the vehicle explains frame i, which s has been prepared for, if it
// is seen larger by that much per cell of its way: per cell, at its place or up to two rows from
// it.
func (l *locator) explained(s *sight, i int, grows float64) float64 {
	p := l.places[i]
	s.looks(l.t.scaled(l.size(p, grows)).blurred(l.blur(i)))
	top := float32(math.Inf(-1))
	for dr := -2; dr <= 2; dr++ {
		v, _ := s.worth(int(math.Round(p.row))+dr, int(math.Round(p.col)))
		top = max(top, v)
	}
	return float64(top) / float64(max(1, len(s.cells)))
}
