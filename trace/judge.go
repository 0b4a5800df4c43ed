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
	if err := f.readBand(ctx, l, b); err != nil {
		return nil, fmt.Errorf("read the flight again to judge its places: %w", err)
	}
	return b, nil
}

// leastRows is how many rows of the band tell anything.
const leastRows = 8

// judgedBand is the band of a lane, and where it lies.
type judgedBand struct {
	lattice
	layout         *layer.Band
	known          layer.Known
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

// latticeAlong is the lattice of a band from a place along a line: so wide that the vehicle stays in
// it though it leaves the line a little, and by so much more, px for each of the way, as the line may
// be off.
func (f *follower) latticeAlong(l *lane, from, u [2]float64, off float64) lattice {
	along, across := l.extent(u[0], u[1])
	step := min(max(1, across/cellsAcross), mostStep)
	reach := 0.0
	for x, y := from[0], from[1]; x >= 0 && y >= 0 && x < float64(f.width) && y < float64(f.height); reach++ {
		x, y = x+u[0], y+u[1]
	}
	half := across/2 + 4*step + (wedge+off)*reach
	s0 := -along - 6*step
	return lattice{x: from[0], y: from[1], ux: u[0], uy: u[1], step: step, s0: s0, rows: int((reach-s0)/step) + 1, cols: 2*int(half/step) + 1, per: 1}
}

// bandFor lays out the band along the line of the path, about the centre of the lane's patch.
func (f *follower) bandFor(l *lane, r *refiner, p *Path) *judgedBand {
	from := [2]float64{p.Line.Rest.X - r.centre[0], p.Line.Rest.Y - r.centre[1]}
	b := &judgedBand{lattice: f.latticeAlong(l, from, [2]float64{p.Line.Ux, p.Line.Uy}, 0), seen: map[int]seenPlace{}}
	b.layout = &layer.Band{Step: b.step, S0: b.s0, Rows: b.rows, Cols: b.cols}
	along, across := l.extent(b.ux, b.uy)
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

// readBand takes the band from the lane's strip, else from the frames again.
func (f *follower) readBand(ctx context.Context, l *lane, b *judgedBand) error {
	if l.strip.cut(b, f.o.FrameTime) {
		return nil
	}
	return f.again(ctx, b.from, b.to, func(fr *footage.Frame) {
		if (fr.Index-b.from)%b.each == 0 {
			pix := f.lay(&b.lattice, fr.Luma, func(x, y float64) (dx, dy float64) {
				k := f.steady.At(fr.Index, x, y)
				return k.DX, k.DY
			})
			b.layout.Frames = append(b.layout.Frames, layer.Frame{Index: fr.Index, T: f.o.FrameTime(fr.Index), Pix: pix})
		}
	})
}

// again shows frames from..to-1 once more: from the ring where it holds them, else the footage is
// read again.
func (f *follower) again(ctx context.Context, from, to int, visit func(*footage.Frame)) error {
	if frames := f.ring.frames; len(frames) > 0 && frames[0].Index <= from && frames[len(frames)-1].Index >= to-1 {
		for i := range frames {
			if fr := &frames[i]; fr.Index >= from && fr.Index < to {
				visit(fr)
			}
		}
		return nil
	}
	return f.src.Read(ctx, from, to, func(fr footage.Frame) error {
		visit(&fr)
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
