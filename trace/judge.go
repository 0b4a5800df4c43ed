package trace

import (
	"context"
	"fmt"
	"math"

	"padside/footage"
	"padside/layer"
)

// A judgement by all frames. Fine matching starts where the search by correlation saw the vehicle,
// and may have been led astray by it; and a place that only that search found may be anything's.
// So when a lane is matched, its places are held against the posterior of package layer, which
// learns background and vehicle from the places matched finely and then looks for the vehicle
// everywhere along the flight, in all frames together. A coarse place must be among those it
// finds; one matched finely goes where it is sure of another.

const (
	surePlace  = 0.95
	likely     = 0.5
	judgedMost = 300 // frames that are judged; those between follow their neighbours
	leastFine  = 8   // places matched finely, from which the vehicle's looks are learned
)

// heldAgainst holds the path of a lane, matched by r, against all frames together: first where it
// rests, then its places. It returns what matched the lane in the end, and its path.
//
// What falls is left as it is: a hand that holds it at rest looks like a part of it, and it grows
// by more on its way than one template tells.
func (f *follower) heldAgainst(ctx context.Context, l *lane, r *refiner, p *Path) (*refiner, *Path, error) {
	if l.down || p.Line.Uy > 0 {
		return r, p, nil
	}
	b, err := f.bandOfPath(ctx, l, r, p)
	if b == nil || err != nil {
		return r, p, err
	}
	again, err := f.restAgain(ctx, l, b)
	if err != nil {
		return r, p, err
	}
	if again != nil {
		r, p = again, f.pathOf(l, again)
		if b, err = f.bandOfPath(ctx, l, r, p); b == nil || err != nil {
			return r, p, err
		}
	}
	if !f.few() && !l.leapt && len(b.known.Places) >= leastFine {
		b.judge(p, layer.Locate(b.layout, b.known))
	}
	return r, p, nil
}

// bandOfPath reads the band of a lane; nil where too little of it is seen to tell anything.
func (f *follower) bandOfPath(ctx context.Context, l *lane, r *refiner, p *Path) (*judgedBand, error) {
	if len(p.Points) < leastFlight {
		return nil, nil
	}
	b := f.bandFor(l, r, p)
	if b.layout.Rows < leastRows || len(b.known.Places) < leastFlight {
		return nil, nil
	}
	if err := f.readBand(ctx, b); err != nil {
		return nil, fmt.Errorf("read the flight again to judge its places: %w", err)
	}
	return b, nil
}

// leastRows is how many rows of the band tell anything.
const leastRows = 8

// judgedBand is the band of a lane, and the line along which it lies.
type judgedBand struct {
	layout         *layer.Band
	known          layer.Known
	x, y           float64 // px, of the traced point at rest
	ux, uy         float64
	from, to, each int
	seen           map[int]seenPlace
}

// seenPlace is where a frame's patch was found, px along and across the line.
type seenPlace struct {
	s, c float64
	fine bool
}

const (
	cellsAcross = 6.0 // the vehicle is wide: enough to tell it from what lies behind it
	mostStep    = 6.0 // px, within which fine matching finds the place
	wedge       = 0.02
)

// bandFor lays out the band along the line of the path, about the centre of the lane's patch.
func (f *follower) bandFor(l *lane, r *refiner, p *Path) *judgedBand {
	b := &judgedBand{ux: p.Line.Ux, uy: p.Line.Uy, seen: map[int]seenPlace{}}
	b.x, b.y = p.Line.Rest.X-r.centre[0], p.Line.Rest.Y-r.centre[1]
	along, across := l.extent(b.ux, b.uy)
	step := min(max(1, across/cellsAcross), mostStep)
	reach := 0.0
	for x, y := b.x, b.y; x >= 0 && y >= 0 && x < float64(f.width) && y < float64(f.height); reach++ {
		x, y = x+b.ux, y+b.uy
	}
	half := across/2 + 4*step + wedge*reach
	b.layout = &layer.Band{Step: step, S0: -along - 6*step}
	b.layout.Rows, b.layout.Cols = int((reach-b.layout.S0)/step)+1, 2*int(half/step)+1
	b.known = layer.Known{Extent: layer.Extent{Ahead: along / 2, Behind: along / 2, Aside: across / 2}, Noise: f.still.noise, Exposure: r.exposure, Workers: f.o.Workers}
	rests := true
	for i := range p.Points {
		q := &p.Points[i]
		dx, dy := q.X-r.centre[0]-b.x, q.Y-r.centre[1]-b.y
		s := seenPlace{dx*b.ux + dy*b.uy, -dx*b.uy + dy*b.ux, q.Source == SourceFollowed}
		b.seen[q.Frame] = s
		if s.s < restSlack && rests {
			b.known.Rests, b.known.LastRest, s.fine = true, q.Frame, true
		}
		rests = rests && s.s < restSlack
		if s.fine {
			b.known.Places = append(b.known.Places, layer.Place{Frame: q.Frame, S: s.s, C: s.c, P: 1})
		}
	}
	b.from, b.to = p.Points[0].Frame, p.Points[len(p.Points)-1].Frame+1
	b.each = (b.to-b.from-1)/judgedMost + 1
	return b
}

// extent is how much of the picture the patch takes up along and across a line, px.
func (l *lane) extent(ux, uy float64) (along, across float64) {
	if math.Abs(ux) > math.Abs(uy) {
		return float64(l.patch.W - 4), float64(l.patch.H - 4)
	}
	return float64(l.patch.H - 4), float64(l.patch.W - 4)
}

// readBand reads the footage again.
func (f *follower) readBand(ctx context.Context, b *judgedBand) error {
	return f.src.Read(ctx, b.from, b.to, func(fr footage.Frame) error {
		if (fr.Index-b.from)%b.each == 0 {
			b.layout.Frames = append(b.layout.Frames, layer.Frame{Index: fr.Index, T: f.o.FrameTime(fr.Index), Pix: f.bandOf(fr.Luma, fr.Index, b)})
		}
		release(&fr)
		return nil
	})
}

// judge takes out the places of p that the posterior speaks against.
func (b *judgedBand) judge(p *Path, all []layer.Located) {
	by := map[int]*layer.Located{}
	for i := range all {
		by[all[i].Frame] = &all[i]
	}
	kept := p.Points[:0]
	for _, q := range p.Points {
		at := q.Frame - (q.Frame-b.from)%b.each
		if why := b.against(at, q.Source == SourceFollowed, by[at]); why != "" {
			p.Dropped = append(p.Dropped, Dropped{q.Frame, why})
			continue
		}
		kept = append(kept, q)
	}
	p.Points = kept
}

// against is what the posterior of a judged frame has against the place seen there; "" if nothing.
func (b *judgedBand) against(frame int, fine bool, judged *layer.Located) string {
	if b.known.Rests && frame <= b.known.LastRest {
		return ""
	}
	chance := 0.0
	s, seen := b.seen[frame]
	if seen && judged != nil {
		chance = judged.Chance(s.s, s.c, layer.Near+b.layout.Step)
	}
	switch {
	case !fine && chance < likely:
		return "no close match, and all frames together do not find the vehicle there"
	case fine && seen && judged != nil && judged.P > surePlace && chance < 1-surePlace:
		return "all frames together find the vehicle elsewhere"
	}
	return ""
}
