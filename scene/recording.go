package scene

import (
	"math"
	"math/rand/v2"
)

// Recording is what a camera stores of a scene: which frame each stored picture shows, and the stamp that it gives it. The scene's Stamps stay
// the truth. As Record returns it, every frame is stored once with its own stamp; its methods are what cameras do to that, and may follow each other.
type Recording struct {
	Frames []int     // the scene's frame that each stored picture shows
	Stamps []float64 // s, as stored; the first counts as 0
	Woven  bool      // interlaced: picture k shows the even rows of frame Frames[k] and the odd rows of the frame after that
}

// Record stores every frame of a scene once, each with its true stamp.
func Record(s *Scene) *Recording {
	r := &Recording{}
	for i, t := range s.Stamps {
		r.Frames, r.Stamps = append(r.Frames, i), append(r.Stamps, t)
	}
	return r
}

// Lose drops the picture at k: the pictures after it take the stamps of those before them, so that nothing in the stamps tells.
func (r *Recording) Lose(k int) {
	r.Frames = append(r.Frames[:k:k], r.Frames[k+1:]...)
	r.Stamps = r.Stamps[:len(r.Frames)]
}

// Freeze stores the picture before k again in place of that at k, whose own is lost.
func (r *Recording) Freeze(k int) { r.Frames[k] = r.Frames[k-1] }

// Insert stores the picture before k a second time: what follows is stored one stamp later than it was filmed.
func (r *Recording) Insert(k int) {
	r.Frames = append(r.Frames[:k:k], append([]int{r.Frames[k-1]}, r.Frames[k:]...)...)
	n := len(r.Stamps)
	r.Stamps = append(r.Stamps, 2*r.Stamps[n-1]-r.Stamps[n-2])
}

// Jitter moves each stamp by a normal error of standard deviation sd (s), at most three of them and never past a neighbour.
func (r *Recording) Jitter(sd float64, seed uint64) {
	c := rand.New(rand.NewPCG(seed, 0x6a6974746572))
	for i := range r.Stamps {
		r.Stamps[i] += sd * max(-3, min(3, c.NormFloat64()))
	}
	for i := 1; i < len(r.Stamps); i++ {
		r.Stamps[i] = max(r.Stamps[i], r.Stamps[i-1]+1e-4)
	}
}

// Round rounds each stamp to a whole number of ticks (s).
func (r *Recording) Round(tick float64) {
	for i, t := range r.Stamps {
		r.Stamps[i] = math.Round(t/tick) * tick
	}
}

// Weave makes interlaced pictures of a scene whose frames are fields: each of two of them, at the stamp of the first.
func Weave(s *Scene) *Recording {
	r := &Recording{Woven: true}
	for i := 0; i+1 < s.Frames(); i += 2 {
		r.Frames, r.Stamps = append(r.Frames, i), append(r.Stamps, s.Stamps[i])
	}
	return r
}

// weave puts the odd rows of the second of two frames, of 4:2:0 planes, among the even rows of the first, in place. Rows of colour alternate like those of
// brightness, as interlaced 4:2:0 has them (ITU-T H.262, positions of samples; from memory).
func weave(first, second []byte, w, h int) {
	at := 0
	for _, plane := range [][2]int{{w, h}, {w / 2, h / 2}, {w / 2, h / 2}} {
		for y := range plane[1] {
			if y%2 == 1 {
				copy(first[at:at+plane[0]], second[at:at+plane[0]])
			}
			at += plane[0]
		}
	}
}
