package timebase

import (
	"math"
	"math/rand/v2"
)

// Kind says how the sensor exposes the rows of one picture.
type Kind string

// The three kinds. What nobody stated is unknown, not global.
const (
	Unknown Kind = ""
	Global  Kind = "global"  // all rows at the same time
	Rolling Kind = "rolling" // one row after the other
)

// Shutter is what is known of the shutter. The zero value knows nothing.
type Shutter struct {
	Kind     Kind
	RowTime  float64 // s from one of the sensor's rows to the next; 0 if Rolling and not stated
	RowTimeU float64 // s, its standard uncertainty
}

// Filmed is what the shutter of a camera that nobody described can be judged by.
type Filmed struct {
	Interval      float64 // s, from one picture to the next, in real time
	Width, Height int     // px, of the upright picture
	Readout       Readout // which of the sensor's rows shows a place of it
	Turned        bool    // the file says how the camera was held
	Stills        bool    // pictures of a still camera
}

// Delay is by how much later than the sensor's first row a place (x, y) of the upright picture is
// exposed: Start + X x + Y y, s (px; x right, y down, centre of the top left pixel (0, 0)).
type Delay struct {
	Start float64 `json:"start"`
	X     float64 `json:"x"`
	Y     float64 `json:"y"`
}

// At is the delay of the place (x, y), s.
func (d Delay) At(x, y float64) float64 { return d.Start + d.X*x + d.Y*y }

// delay is that of a readout by rows.
func (r Readout) delay(rowTime float64) Delay {
	if r == (Readout{}) {
		r.Y = 1
	}
	return Delay{rowTime * r.First, rowTime * r.X, rowTime * r.Y}
}

// A Scan is one way in which the pictures may have been read: an edge at which reading begins, and
// a readout time, from the first row to the last, that lies evenly between Low and High, or is
// normal about Mean if U or Mean is set.
type Scan struct {
	P       float64 `json:"p"` // probability; those of all scans add up to 1
	Readout Readout `json:"readout"`
	Rows    float64 `json:"rows"`
	Low     float64 `json:"low,omitempty"` // s
	High    float64 `json:"high,omitempty"`
	Mean    float64 `json:"mean,omitempty"` // s
	U       float64 `json:"u,omitempty"`
}

// What filmed it, where nobody stated the shutter (common practice, no source). Cameras that take
// fastClip pictures a second or more are high-speed cameras with a global shutter, or phones in
// slow motion; slower clips come from phones and consumer cameras, whose sensors are read in a tenth to
// the whole of the frame interval. A still camera's shutter takes between the 2 ms of a fast curtain
// and the 60 ms of a slow electronic one.
const (
	fastClip     = 500.0 // Hz
	globalIfFast = 0.5
	leastReadout = 0.1 // of the frame interval
	curtain      = 2e-3
	electronic   = 60e-3
)

// How sure the edge is at which reading begins: the file's rotation tells how the camera was held,
// and so does a picture that lies as sensors do. A clip stored upright without a rotation was made
// anew from another, and most of those were filmed by an upright phone (common practice, no source).
const (
	otherEdge = 0.05
	sideways  = 0.45
)

// Scans lists the ways in which the pictures may have been read, given what is known of the shutter.
// A stated shutter reads from the edge that the file says. A Global one gives none.
func (s Shutter) Scans(f Filmed) []Scan {
	stored := scanOf(f.Readout, f)
	switch {
	case s.Kind == Global || s.Kind == Rolling && s.RowTime == 0 && s.RowTimeU > 0:
		return nil
	case s.RowTime != 0:
		stored.P, stored.Mean, stored.U = 1, s.RowTime*stored.Rows, s.RowTimeU*stored.Rows
		return []Scan{stored}
	}
	low, high := leastReadout*f.Interval, f.Interval
	if f.Stills {
		low, high = curtain, max(curtain, min(electronic, f.Interval))
	}
	rolling := 1.0
	if s.Kind == Unknown && !f.Stills && f.Interval <= 1/fastClip {
		rolling = 1 - globalIfFast
	}
	var scans []Scan
	for _, e := range f.edges() {
		e.P, e.Low, e.High = e.P*rolling, low, high
		scans = append(scans, e)
	}
	if rolling < 1 {
		scans = append(scans, Scan{P: 1 - rolling, Readout: stored.Readout, Rows: stored.Rows})
	}
	return scans
}

// edges are the edges at which reading may begin, with their probabilities.
func (f Filmed) edges() []Scan {
	at := func(p float64, r Readout) Scan {
		e := scanOf(r, f)
		e.P = p
		return e
	}
	w, h := float64(f.Width-1), float64(f.Height-1)
	if !f.Turned && f.Height > f.Width {
		return []Scan{at(sideways, Readout{X: 1}), at(sideways, Readout{First: w, X: -1}),
			at(1-2*sideways-otherEdge/2, Readout{Y: 1}), at(otherEdge/2, Readout{First: h, Y: -1})}
	}
	r := f.Readout
	if r == (Readout{}) {
		r.Y = 1
	}
	return []Scan{at(1-otherEdge, r), at(otherEdge, r.reversed(w, h))}
}

// reversed reads the same rows from the other edge.
func (r Readout) reversed(w, h float64) Readout {
	last := math.Abs(r.X)*w + math.Abs(r.Y)*h
	return Readout{First: last - r.First, X: -r.X, Y: -r.Y}
}

func scanOf(r Readout, f Filmed) Scan {
	rows := float64(f.Height)
	if math.Abs(r.X) > 0.5 {
		rows = float64(f.Width)
	}
	return Scan{Readout: r, Rows: max(rows, 1)}
}

// A Reader draws the delay of the pictures' rows from what is known of the shutter and, if the
// vehicle's apparent length told something, from that too.
type Reader struct {
	nodes []reading
	sum   []float64 // cumulated probability
	mean  Delay
}

// reading is one possible delay and its probability.
type reading struct {
	delay Delay
	p     float64
}

// readerNodes is into how many equal parts of probability each scan's readout time is cut: the
// steps are far finer than any interval that rests on them.
const readerNodes = 96

// NewReader prepares to draw from the scans. likelihood, if not nil, is proportional to how probable
// what was seen is under a delay. A nil Reader stands for a global shutter.
func NewReader(scans []Scan, likelihood func(Delay) float64) *Reader {
	r := &Reader{}
	var total float64
	for _, s := range scans {
		for i := range readerNodes {
			q := (float64(i) + 0.5) / readerNodes
			d := s.Readout.delay(s.quantile(q) / s.Rows)
			p := s.P / readerNodes
			if likelihood != nil {
				p *= likelihood(d)
			}
			if p > 0 {
				total += p
				r.nodes, r.sum = append(r.nodes, reading{d, p}), append(r.sum, total)
			}
		}
	}
	if total == 0 {
		return nil
	}
	for i, n := range r.nodes {
		p := n.p / total
		r.sum[i] /= total
		r.mean.Start += p * n.delay.Start
		r.mean.X += p * n.delay.X
		r.mean.Y += p * n.delay.Y
	}
	return r
}

// quantile is the readout time below which the share q of the scan's lies, s.
func (s Scan) quantile(q float64) float64 {
	if s.Mean != 0 || s.U > 0 {
		return s.Mean + s.U*math.Sqrt2*math.Erfinv(2*q-1)
	}
	return s.Low + q*(s.High-s.Low)
}

// Draw returns one possible delay. Two launches of one setup that draw from the same source get the
// same, as far as what is known of their shutters is the same.
func (r *Reader) Draw(src *rand.Rand) Delay {
	u := src.Float64()
	if r == nil {
		return Delay{}
	}
	lo, hi := 0, len(r.sum)-1
	for lo < hi {
		if m := (lo + hi) / 2; r.sum[m] < u {
			lo = m + 1
		} else {
			hi = m
		}
	}
	return r.nodes[lo].delay
}

// Mean is the mean delay.
func (r *Reader) Mean() Delay {
	if r == nil {
		return Delay{}
	}
	return r.mean
}

// Along returns mean and standard deviation of the delay for each px along a direction (ux, uy) of the
// upright picture, s/px.
func (r *Reader) Along(ux, uy float64) (mean, sd float64) {
	if r == nil {
		return 0, 0
	}
	var sq, last float64
	for i, n := range r.nodes {
		p, k := r.sum[i]-last, n.delay.X*ux+n.delay.Y*uy
		mean, sq, last = mean+p*k, sq+p*k*k, r.sum[i]
	}
	return mean, math.Sqrt(math.Max(0, sq-mean*mean))
}
