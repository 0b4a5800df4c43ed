package register

import "testing"

// TestSearcherComparesWhatHasAWeight: of a thin vehicle in a wide patch: only what lies between the
// pixels of the coarse grid has a weight.
func TestSearcherComparesWhatHasAWeight(t *testing.T) {
	const side = 60 // px: of 3600 pixels every third in either direction is compared, from 1 on
	pix, weight := make([]float32, side*side), make([]float32, side*side)
	for k := range pix {
		pix[k] = float32(k % 7)
		if k%side == 30 {
			weight[k] = 1
		}
	}
	s := NewSearcher(pix, weight, side, side, MostSought)
	if len(s.t) < leastSought || s.Blind() {
		t.Errorf("%d of %d pixels with a weight are compared, want at least %d", len(s.t), side, leastSought)
	}
}
