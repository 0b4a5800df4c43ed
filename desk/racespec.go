package desk

import (
	"fmt"
	"image"
	"math"

	"padside/metrology"
	"padside/picture"
	"padside/units"
	"padside/wording"
)

// spec lays out the race for the picture.
func (r *contest) spec() picture.RaceSpec {
	c, read := &r.cadence, r.sheet.read
	s := picture.RaceSpec{
		Finish: picture.Level{Height: r.goal, Label: r.goalText()}, Levels: r.levels(), AsFilmed: r.o.AsFilmed, From: c.from, To: c.to,
		Caption: fmt.Sprintf("slowed %.4g times", c.slow),
		Speed:   picture.Axis{Label: "speed, " + read.Speed().Symbol, Scale: read.Speed().FromSI(1)},
	}
	for i := range r.runners {
		one := &r.runners[i]
		rule := one.rule()
		turns := one.turns()
		s.Panels = append(s.Panels, picture.RacePanel{Title: one.line.Title, Width: one.size[0], Height: one.size[1], Turns: turns, Crop: r.crop(one),
			Place: rule.place, Below: min(one.below(), rule.lowest, 0.6*r.goal)})
		for _, m := range one.motion {
			if m.T-*one.zero.Value <= min(one.over, one.gone) {
				s.TopSpeed = max(s.TopSpeed, m.Speed+2*m.USpeed)
			}
		}
	}
	return s
}

// levels are the heights marked below the finish: the gates all were asked for, where these are a few; else even steps.
func (r *contest) levels() []picture.Level {
	read := r.sheet.read
	out := []picture.Level{{Label: read.GateText(0)}}
	var below []float64
	for _, g := range r.gates {
		if g < r.goal && !sameHeight(g, r.goal) {
			below = append(below, g)
		}
	}
	const fewest, most = 2, 9
	if n := len(below); n < fewest || n > most || below[n-1] < 0.6*r.goal { // a finish far above the gates
		below = nil
		unit := read.Height().FromSI(r.goal)
		step := roundBelow(unit / 4)
		for k := 1.0; k*step < unit*(1-1e-9); k++ {
			below = append(below, read.Height().ToSI(k*step))
		}
	}
	for _, g := range below {
		out = append(out, picture.Level{Height: g, Label: read.GateText(g)})
	}
	return out
}

// crop is the part of a launch's footage that is its own: where others stand in it, as far as halfway to them.
func (r *contest) crop(one *runner) image.Rectangle {
	out := image.Rect(0, 0, one.size[0], one.size[1])
	l := one.path.Line
	for _, h := range r.starts {
		if h.from.seen != one.seen {
			continue
		}
		for _, p := range h.from.seen.Paths {
			half := image.Pt(int((l.Rest.X+p.Line.Rest.X)/2), int((l.Rest.Y+p.Line.Rest.Y)/2))
			upright := math.Abs(l.Uy) >= math.Abs(l.Ux)
			switch {
			case p.Lane == one.path.Lane:
			case upright && p.Line.Rest.X > l.Rest.X:
				out.Max.X = min(out.Max.X, half.X)
			case upright:
				out.Min.X = max(out.Min.X, half.X)
			case p.Line.Rest.Y > l.Rest.Y:
				out.Max.Y = min(out.Max.Y, half.Y)
			default:
				out.Min.Y = max(out.Min.Y, half.Y)
			}
		}
	}
	return out
}

// turns is how many quarter turns clockwise make the flight go up. What falls, falls.
func (one *runner) turns() int {
	l := one.path.Line
	switch {
	case math.Abs(l.Uy) >= math.Abs(l.Ux):
		return 0
	case l.Ux > 0:
		return 3
	}
	return 1
}

// below is how far the vehicle reaches below the traced point, at most, with a little to spare, m.
func (one *runner) below() float64 {
	if one.path.Length > 0 {
		return 1.15 * one.path.Length * one.scale.MetresPerPixel(0)
	}
	return math.Inf(1)
}

// rule is the scale turned about: where along the flight line a height is seen. Beyond what the scale can say it goes on evenly.
type rule struct {
	rest, along picture.Spot
	s, h        []float64 // px and m, both rising
	lowest      float64   // m below the height 0 to the picture's edge
}

// ruleStep is how finely the scale is sampled, px: between samples it bends by far less than a pixel.
const ruleStep = 2

func (one *runner) rule() *rule {
	l := one.path.Line
	r := &rule{rest: picture.Spot{X: l.Rest.X, Y: l.Rest.Y}, along: picture.Spot{X: l.Ux, Y: l.Uy}}
	w, h := float64(one.size[0]), float64(one.size[1])
	inside := func(s float64) bool {
		x, y := l.Rest.X+s*l.Ux, l.Rest.Y+s*l.Uy
		return x >= 0 && y >= 0 && x <= w-1 && y <= h-1
	}
	lo := 0.0
	for inside(lo-ruleStep) && one.scale.Height(lo-ruleStep) < one.scale.Height(lo) {
		lo -= ruleStep
	}
	r.lowest = math.Max(0, -one.scale.Height(lo))
	for s := lo; s <= 0 || inside(s); s += ruleStep {
		height := one.scale.Height(s)
		if n := len(r.h); n > 0 && !(height > r.h[n-1]) {
			break
		}
		r.s, r.h = append(r.s, s), append(r.h, height)
	}
	return r
}

// place is where the flight line passes a height.
func (r *rule) place(height float64) picture.Spot {
	n := len(r.h)
	if n < 2 {
		return r.rest
	}
	i := 1
	for i < n-1 && r.h[i] < height {
		i++
	}
	s := r.s[i-1] + (height-r.h[i-1])/(r.h[i]-r.h[i-1])*(r.s[i]-r.s[i-1])
	return picture.Spot{X: r.rest.X + s*r.along.X, Y: r.rest.Y + s*r.along.Y}
}

// timeWords writes a time with its 95 % interval, in ms or, where it is long, in s.
func timeWords(a metrology.Answer) string {
	if a.Value == nil {
		return ""
	}
	u := units.SI(units.Time)
	if *a.Value < wording.InSeconds {
		u, _ = units.Lookup("ms", units.Time)
	}
	v := u.DeltaFromSI(*a.Value)
	lo, hi := u.DeltaFromSI(a.Interval[0]), u.DeltaFromSI(a.Interval[1])
	below, above := v-lo, hi-v
	place, ok := metrology.Place(max(below, above), metrology.Digits)
	if !ok || max(below, above) > wording.Lopsided*min(below, above) {
		return a.Text(u, metrology.Digits)
	}
	return fmt.Sprintf("%s ± %s %s", metrology.Round(v, place), metrology.Round(max(below, above), place), u.Symbol)
}
