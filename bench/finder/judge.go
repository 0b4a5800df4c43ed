package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"padside/scene"
	"padside/trace"
)

// falseBy is how far, px, a point may lie from the truth and still count as one: beyond it, it is something else.
const falseBy = 3.0

// verdict is how a path compares with the truth: errors along the flight line less their mean at rest.
type verdict struct {
	n, lost, wrong int
	worst          float64
	ss, pp         float64 // sums of squares over the true points: px², and over the stated uncertainty
	common         common
	note           string
	took           time.Duration
}

func (v *verdict) right() float64 { return float64(max(1, v.n-v.wrong)) }
func (v *verdict) rms() float64   { return math.Sqrt(v.ss / v.right()) }
func (v *verdict) pull() float64  { return math.Sqrt(v.pp / v.right()) }

// judge compares a path with the truth about the point of the vehicle that is seen where the trace rests, as far before its axis as it seems to fly. Lost are frames
// between the trace's first and the last in which the whole traced patch could be seen.
func judge(t *scene.Take, p *trace.Path) verdict {
	s := t.Scene
	seen := followed(s, p)
	var v verdict
	var errs, across []float64
	var rest, sides []float64
	had := map[int]bool{}
	for _, q := range p.Points {
		had[q.Frame] = true
		tr := seen.Truth(q.Frame)
		dx, dy := q.X-tr.Steady.X, q.Y-tr.Steady.Y
		errs, across = append(errs, dx*p.Line.Ux+dy*p.Line.Uy), append(across, dx*p.Line.Uy-dy*p.Line.Ux)
		if math.Abs(tr.Height) < 1e-5 {
			rest = append(rest, errs[len(errs)-1])
		}
		sides = append(sides, across[len(across)-1])
	}
	zero, side := mean(rest), middle(sides)
	first := p.Points[0].Frame
	for i := range errs {
		e := errs[i] - zero
		off := math.Hypot(e, across[i]-side)
		v.n++
		v.worst = max(v.worst, off)
		if off > falseBy {
			v.wrong++
			continue
		}
		v.ss += e * e
		v.pp += e * e / (p.Points[i].Total() * p.Points[i].Total())
	}
	var lost []string
	for i := first; i < s.Frames(); i++ {
		if whole(s, seen, i) && !had[i] {
			v.lost++
			lost = append(lost, fmt.Sprint(i))
		}
	}
	if v.common = commonOf(t, p); v.common.ok {
		v.note = fmt.Sprintf("together near rest %.4f, amplitudes %.4f %.4f, left %.4f px, ", v.common.rest, v.common.cos, v.common.sin, v.common.left)
	}
	v.note += fmt.Sprintf("%.2f of the radius before the axis at %.2f of the length, ", seen.Share(), seen.Along/s.Vehicles[0].Length)
	v.note += rulerNote(t, p, seen)
	v.note += fmt.Sprintf("at rest to %.3f px, from frame %d of %d, length %.0f, lost [%s], %d coarse", p.RestU, first, s.Frames(), p.Length, strings.Join(lost, " "), coarse(p))
	return v
}

// patchHalf is about half the traced patch, px.
const patchHalf = 40

// whole tells whether the traced patch lies in the frame.
func whole(s *scene.Scene, p scene.Point, i int) bool {
	tr := p.Truth(i)
	w, h := float64(s.Camera.Width), float64(s.Camera.Height)
	return tr.InView && tr.Pixel.Y > patchHalf && tr.Pixel.Y < h-patchHalf && tr.Pixel.X > 0 && tr.Pixel.X < w
}

// coarse counts the points that only the coarse search found.
func coarse(p *trace.Path) int {
	n := 0
	for _, q := range p.Points {
		if q.Source == trace.SourceCoarse {
			n++
		}
	}
	return n
}

// followed is the point of the vehicle that a path follows.
func followed(s *scene.Scene, p *trace.Path) scene.Point {
	var frames []int
	var ways []float64
	for _, q := range p.Points {
		frames = append(frames, q.Frame)
		ways = append(ways, (q.X-p.Line.Rest.X)*p.Line.Ux+(q.Y-p.Line.Rest.Y)*p.Line.Uy)
	}
	return s.Followed(1, p.Line, frames, ways)
}

func mean(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x
	}
	return sum / float64(max(1, len(v)))
}

func middle(v []float64) float64 {
	v = slices.Sorted(slices.Values(v))
	return v[len(v)/2]
}

// tally sums the verdicts of one kind of footage.
type tally struct {
	takes, missed, n, lost, wrong int
	ss, pp                        float64
	pulls                         []float64
	rests, amplitudes             float64 // sums of squares, px²
	told                          int     // takes that told them
}

func (t *tally) add(v verdict, err error) {
	t.takes++
	if err != nil {
		t.missed++
		return
	}
	t.n, t.lost, t.wrong = t.n+v.n, t.lost+v.lost, t.wrong+v.wrong
	t.ss, t.pp = t.ss+v.ss, t.pp+v.pp
	t.pulls = append(t.pulls, v.pull())
	if c := v.common; c.ok {
		t.rests, t.amplitudes, t.told = t.rests+c.rest*c.rest, t.amplitudes+c.cos*c.cos+c.sin*c.sin, t.told+1
	}
}

func (t *tally) print(name string) {
	right := float64(max(1, t.n-t.wrong))
	slices.Sort(t.pulls)
	var each []string
	for _, p := range t.pulls {
		each = append(each, fmt.Sprintf("%.2f", p))
	}
	fmt.Printf("| %s | %d | %d | %d | %d | %d | %.4f | %.2f | %s |\n", name, t.takes, t.missed, t.n, t.lost, t.wrong,
		math.Sqrt(t.ss/right), math.Sqrt(t.pp/right), strings.Join(each, " "))
}
