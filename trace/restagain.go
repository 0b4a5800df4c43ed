package trace

import (
	"context"
	"math"

	"padside/footage"
	"padside/layer"
)

// Where it rests, by what flies. A lane is followed from rest into motion or back from there, and
// on the way the search may change over from one part of the vehicle to another: from the tail to
// a band above it as the first flame comes, from the nose to the body where a dark wood ends
// behind it. Then the places at rest are of one part and those in flight of another, each matched
// as finely as can be, and every height is off by as much as these lie apart. So the vehicle is
// looked for at rest once more, by the looks it has in flight. Where it is surely elsewhere, the
// places at rest move there, and all is matched anew.

const (
	leastFlight = 3   // places in flight that show the vehicle's looks
	sureRest    = 0.9 // probability of a place at rest from which it is taken
)

// restAgain moves the places at rest of a lane, whose band is b, to where the vehicle is seen to
// rest, and matches it again. It returns nil where they stand.
func (f *follower) restAgain(ctx context.Context, l *lane, b *judgedBand) (*refiner, error) {
	known := b.known
	defer func() { b.known = known }()
	rest := b.flying()
	if len(rest) == 0 || len(b.known.Places) < leastFlight {
		return nil, nil
	}
	places := layer.Resting(b.layout, b.known, rest)
	if !b.elsewhere(places) {
		return nil, nil
	}
	s, c := places[0].S, places[0].C
	was := *l
	if err := f.moveRest(ctx, l, rest[len(rest)-1], s*b.ux-c*b.uy, s*b.uy+c*b.ux); err != nil {
		return nil, err
	}
	again, ok := f.refined(l)
	if !ok || again.astray {
		*l = was
		return nil, nil
	}
	return again, nil
}

// flying leaves of what is known of the vehicle its places in flight, and returns the frames in
// which it rests.
func (b *judgedBand) flying() (rest []int) {
	var flight []layer.Place
	from := (b.known.Ahead + b.known.Behind) / 4
	for _, q := range b.known.Places {
		switch {
		case b.known.Rests && q.Frame <= b.known.LastRest:
			rest = append(rest, q.Frame)
		case q.S > from:
			flight = append(flight, q)
		}
	}
	b.known.Places = flight
	return rest
}

// elsewhere reports whether the likeliest of the places at rest is sure, and another than that
// known.
func (b *judgedBand) elsewhere(places []layer.Place) bool {
	near := layer.Near + b.layout.Step
	return len(places) > 0 && places[0].P > sureRest && math.Hypot(places[0].S, places[0].C) > near
}

// moveRest moves the sightings up to frame last by (dx, dy) px, and leaves out those after it that
// lie behind the new place.
func (f *follower) moveRest(ctx context.Context, l *lane, last int, dx, dy float64) error {
	var out []sighting
	rests := map[int]int{}
	x, y := l.rest[0]+dx, l.rest[1]+dy
	for _, s := range l.sights {
		if s.frame <= last {
			l.bytes, l.bodies = l.bytes-s.crop.bytes(), l.bodies-s.body.bytes()
			s.x, s.y, s.crop, s.body = s.x+dx, s.y+dy, crop{}, crop{}
			rests[s.frame] = len(out)
		} else if cx, cy := l.camera(s.frame, s.x, s.y); (s.x-cx-x)*dx+(s.y-cy-y)*dy < 0 && l.forward(dx, dy) {
			l.dropped = append(l.dropped, Dropped{s.frame, "behind the place at rest"})
			continue
		}
		out = append(out, s)
	}
	l.sights, l.rest, l.prepare = out, [2]float64{x, y}, nil
	return f.again(ctx, l.sights[0].frame, last+1, func(fr *footage.Frame) {
		if k, ok := rests[fr.Index]; ok {
			l.cut(&l.sights[k], fr.Luma)
		}
	})
}

// forward reports whether (dx, dy) points the way that the vehicle goes.
func (l *lane) forward(dx, dy float64) bool {
	last := &l.sights[len(l.sights)-1]
	return (last.x-l.rest[0])*dx+(last.y-l.rest[1])*dy > 0
}
