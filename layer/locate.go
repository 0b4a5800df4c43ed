package layer

import (
	"math"
	"slices"
)

// Place is where the vehicle's traced point may be in a frame.
type Place struct {
	Frame int
	S, C  float64 // px along the flight line from rest, and across it
	U     float64 // px, standard uncertainty along the line
	P     float64 // probability of this place or one near it
}

// Located is what all frames say of one of them.
type Located struct {
	Place
	Others []Place // other places, the likeliest first
	Lost   float64 // probability that the vehicle is at none of the places
}

// Known is what is known of the vehicle before the pass.
type Known struct {
	Extent
	Rests    bool    // the first of the places is at rest, and so are those after it up to LastRest
	LastRest int     // frame
	Places   []Place // where it was seen, in order of frames: at least two
	Noise    float64 // levels, of one frame's pixel
	Exposure float64 // s, by which what moves is drawn out
	Workers  int     // frames looked at at a time; 0: as many as there are processors. The result does not depend on it.
}

// Near is how far apart, px, two places may lie and be one, beside a cell.
const Near = 3.0

// rounds is how many times looks, background and places are learned from each other.
const rounds = 2

// Locate finds the vehicle in every frame of the band after its rest. It changes the band's
// brightness to that of the frames at rest.
func Locate(b *Band, k Known) []Located {
	l := newLocator(b, k)
	if !l.begin(l.resting()) {
		return nil
	}
	var out []Located
	for range rounds {
		l.learn()
		out = l.pass()
		l.grow()
	}
	return out
}

// locator is one run of Locate.
type locator struct {
	b      *Band
	k      Known
	noise  float32     // levels, of a cell
	number map[int]int // the band's frame of each footage frame
	places []lesson    // per frame of the band
	t      *template
	d      *backdrop
	grows  float64 // by which the vehicle is seen larger, per cell of its way
}

// newLocator is one that has not begun.
func newLocator(b *Band, k Known) *locator {
	l := &locator{b: b, k: k, noise: float32(max(0.3, k.Noise/max(1, b.Step/2))), number: map[int]int{}}
	for i := range b.Frames {
		l.number[b.Frames[i].Index] = i
	}
	return l
}

// sure is the probability from which a place is learned from.
const sure = 0.9

// begin takes the places that are known and brings all frames to the light of the given ones. It
// reports false where fewer than two places are known.
func (l *locator) begin(lit []int) bool {
	b := l.b
	l.places = make([]lesson, len(b.Frames))
	for i := range l.places {
		l.places[i].frame = i
	}
	n := 0
	for _, p := range l.k.Places {
		if i, ok := l.number[p.Frame]; ok {
			l.places[i] = lesson{frame: i, row: b.row(p.S), col: b.column(p.C), weight: 1}
			n++
		}
	}
	if n < 2 {
		return false
	}
	b.even(b.usual(lit), l.fronts())
	return true
}

// mostResting is how many frames at rest the light is taken from.
const mostResting = 40

// resting lists the frames of the band at rest; all, where none is.
func (l *locator) resting() []int {
	var out []int
	for i := range l.b.Frames {
		if !l.k.Rests || l.b.Frames[i].Index <= l.k.LastRest {
			out = append(out, i)
		}
	}
	if !l.k.Rests {
		return out
	}
	return out[max(0, len(out)-mostResting):]
}

// learn learns background and looks from the places so far.
func (l *locator) learn() {
	front, back := make([]float64, len(l.places)), make([]float64, len(l.places))
	ahead, behind := l.k.Ahead/l.b.Step, l.k.Behind/l.b.Step
	for i, p := range l.places {
		front[i], back[i] = math.NaN(), math.NaN()
		if p.weight > sure {
			front[i], back[i] = p.row+ahead+l.blur(i), p.row-behind-l.blur(i)
		}
	}
	l.d = l.b.learn(front, back, l.noise)
	lessons := l.lessons(mostDrawn)
	if len(lessons) < leastLessons {
		lessons = l.lessons(math.Inf(1))
	}
	l.t = templateOf(l.k.Extent, l.b.Step)
	l.t.learn(l.b, l.d, lessons, l.k.Rests, l.noise)
}

const (
	leastLessons = 4
	mostLessons  = 48
	lessonStep   = 0.8 // cells the vehicle moves from one lesson to the next
	mostDrawn    = 3.0 // cells by which it may be drawn out in one
)

// lessons are places to learn from that are drawn out by less than most cells. What has not moved
// is the same lesson again: each lies a step from the one before.
func (l *locator) lessons(most float64) []lesson {
	var out []lesson
	for i, p := range l.places {
		if p.weight < sure || l.blur(i) > most {
			continue
		}
		if n := len(out); n > 0 && math.Abs(p.row-out[n-1].row) < lessonStep {
			continue
		}
		p.size = l.size(p, l.grows)
		out = append(out, p)
	}
	if n := len(out); n > mostLessons {
		for i := range mostLessons {
			out[i] = out[i*n/mostLessons]
		}
		out = out[:mostLessons]
	}
	return out
}

// pass finds the candidates of each frame and judges them by all frames.
func (l *locator) pass() []Located {
	b := l.b
	start := l.start()
	nodes := make([][]*node, len(b.Frames))
	var after []int
	for i := start.b.frame + 1; i < len(b.Frames); i++ {
		after = append(after, i)
	}
	rows := [2]int{int(start.b.row) - startReach, b.Rows}
	newSight(b, l.d).inEach(after, l.k.workers(), func(s *sight, k int) {
		i := after[k]
		s.looks(l.t.scaled(l.size(l.places[i], l.grows)).blurred(l.blur(i)))
		for _, c := range s.look(rows, [2]int{0, b.Cols}) {
			nodes[i] = append(nodes[i], &node{candidate: c, frame: i, t: b.Frames[i].T})
		}
	})
	m := &course{acceleration: l.acceleration(), b: b, ahead: l.k.Ahead / b.Step}
	return l.judged(m.pass(start, nodes))
}

// startReach is how many cells behind its start the vehicle is looked for.
const startReach = 6

// start is the pair of places from which the vehicle goes: the last two at rest, or the first two
// that were seen.
func (l *locator) start() *pair {
	var at []*node
	for i := range l.places {
		p := &l.places[i]
		if p.weight == 0 {
			continue
		}
		at = append(at, &node{candidate: candidate{row: p.row, col: p.col, u: startU}, frame: i, t: l.b.Frames[i].T})
		if n := len(at); n >= 2 && (!l.k.Rests || l.b.Frames[i].Index >= l.k.LastRest) {
			break
		}
	}
	n := len(at)
	return &pair{a: at[n-2], b: at[n-1]}
}

// startU is the standard uncertainty, cells, of where it starts.
const startU = 0.2

// acceleration is the usual size of it, cells/s^2: that of a body that goes as far as it was seen
// to, in the same time, from rest.
func (l *locator) acceleration() float64 {
	var way, from, to float64
	from = math.NaN()
	for _, p := range l.k.Places {
		i, ok := l.number[p.Frame]
		if !ok {
			continue
		}
		if p.S < nearRest || from != from {
			from = l.b.Frames[i].T
		}
		to, way = l.b.Frames[i].T, max(way, p.S)
	}
	if !(to > from) {
		to = from + 1
	}
	return 2 * way / l.b.Step / ((to - from) * (to - from))
}

// nearRest is how far, px, from its start the vehicle counts as at rest.
const nearRest = 1.5

// judged puts the posterior of each frame together, and takes the places that it finds.
func (l *locator) judged(all [][]*pair) []Located {
	var out []Located
	for i, pairs := range all {
		if pairs == nil {
			continue
		}
		l.places[i].weight = 0
		q, best := l.located(i, pairs)
		if best == nil {
			continue
		}
		out = append(out, q)
		l.places[i] = lesson{frame: i, row: best.row, col: best.col, weight: q.P}
	}
	return out
}

// leastChance is the probability of a place from which it is listed.
const leastChance = 1e-4

// located is what the pairs of frame i say, and the best of their places; nil where there is none.
func (l *locator) located(i int, pairs []*pair) (q Located, best *node) {
	weights, order, sum := map[*node]float64{}, []*node(nil), 0.0
	for _, p := range pairs {
		if _, ok := weights[p.b]; !ok {
			order = append(order, p.b)
		}
		weights[p.b] += p.chance
		sum += p.chance
	}
	slices.SortStableFunc(order, func(a, b *node) int { return -compare(weights[a], weights[b]) })
	near := Near/l.b.Step + 1
	var places []Place
	var taken []*node
	for _, n := range order {
		k := slices.IndexFunc(taken, func(o *node) bool { return math.Hypot(n.row-o.row, n.col-o.col) <= near })
		switch {
		case k >= 0:
			places[k].P += weights[n]
		case weights[n] > leastChance:
			s, c := l.b.place(n.row, n.col)
			taken, places = append(taken, n), append(places, Place{Frame: l.b.Frames[i].Index, S: s, C: c, U: n.u * l.b.Step, P: weights[n]})
		}
	}
	if len(places) == 0 {
		return q, nil
	}
	return Located{Place: places[0], Others: places[1:], Lost: max(0, 1-sum)}, taken[0]
}

// compare orders numbers.
func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// Chance is the probability that the vehicle is within near px of the place s along and c across.
func (l *Located) Chance(s, c, near float64) float64 {
	sum := 0.0
	for _, p := range append([]Place{l.Place}, l.Others...) {
		if math.Hypot(p.S-s, p.C-c) <= near {
			sum += p.P
		}
	}
	return sum
}
