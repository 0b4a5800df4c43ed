package layer

import "math"

// Most places are ruled out by a few of the vehicle's cells: where it is not, they speak against it
// as all do. Only where they do not are all looked at, a quarter of the work.

const (
	// screenEvery: one in so many cells is looked at first.
	screenEvery = 4
	// screened is by how much, ln, more all cells may say for a place than these do. One cell's say
	// scatters by 2 to 3, so that a quarter of a hundred tell that of all to 40; more where many cells
	// that hang together are seen otherwise.
	screened = 300
)

// hopeless reports whether place (r, c) is so bad for some of the cells that all of them will not
// make it worth least.
func (s *sight) hopeless(r, c int, least float32) bool {
	sum, _ := s.worthOf(s.few, r, c)
	return sum*float32(len(s.cells)) < (least-screened)*float32(len(s.few))
}

// unseen marks a place that is worth little, how little is not known.
var unseen = float32(math.Inf(-1))

// seenWorth is the worth of place (r, c), 0 where too little of the vehicle would be in view.
func (s *sight) seenWorth(r, c int) float32 {
	v, seen := s.worth(r, c)
	if seen < leastSeen {
		return 0
	}
	return v
}

// lookAbout puts the worth of the four places about place k of the field there: they tell where
// between the cells it lies.
func (s *sight) lookAbout(field []float32, k int, rows, cols [2]int) {
	w := cols[1] - cols[0]
	for _, d := range [4][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
		r, c := k/w+d[0], k%w+d[1]
		if r >= 0 && r < rows[1]-rows[0] && c >= 0 && c < w && field[r*w+c] == unseen {
			field[r*w+c] = s.seenWorth(rows[0]+r, cols[0]+c)
		}
	}
}
