package picture

import (
	"image"
	"image/color"
	"math"
	"testing"

	"golang.org/x/image/draw"
)

// upward makes a panel of a picture of w x h px whose flight goes along (ux, uy) from (x, y), perMetre px for a metre.
func upward(w, h, turns int, x, y, ux, uy, perMetre float64) RacePanel {
	return RacePanel{Title: "t", Width: w, Height: h, Turns: turns, Below: 0.3,
		Place: func(m float64) Spot { return Spot{X: x + ux*m*perMetre, Y: y + uy*m*perMetre} }}
}

// A dot of the footage is printed where Where has it, whichever way the footage lies; rest and finish of all panels stand in one row,
// whatever their scales.
func TestRacePutsFootageWhereItSays(t *testing.T) {
	t.Parallel()
	panels := []RacePanel{
		upward(200, 400, 0, 90, 350, 0, -1, 150),
		upward(200, 600, 0, 100, 500, 0, -1, 210),
		upward(400, 200, 3, 40, 90, 1, 0, 150),  // to the right
		upward(400, 200, 1, 360, 90, -1, 0, 90), // to the left
		upward(200, 400, 2, 90, 40, 0, 1, 150),  // upside down
		upward(300, 400, 0, 40, 350, 0, -1, 150),
	}
	panels[5].Crop = image.Rect(0, 0, 120, 400)
	spec := RaceSpec{Panels: panels, Finish: Level{2, "2 m"}, Levels: []Level{{1, "1 m"}}, From: -0.1, To: 1, TopSpeed: 10, Speed: Axis{"speed, m/s", 1}}
	r, err := NewRace(spec)
	if err != nil {
		t.Fatal(err)
	}
	if w, h := r.Size(); w%2 != 0 || h%2 != 0 {
		t.Errorf("the paper is %dx%d px, want even numbers", w, h)
	}
	const near = 1.0 // px: half a pixel of rounding each way
	for i, p := range panels {
		for height, want := range map[float64]float64{0: r.Where(0, panels[0].Place(0)).Y, 2: r.Where(0, panels[0].Place(2)).Y} {
			if got := r.Where(i, p.Place(height)).Y; math.Abs(got-want) > 1e-6 {
				t.Errorf("panel %d: %g m stands in row %g, want %g as in the first", i, height, got, want)
			}
		}
		const dx, dy = 3, -2 // the camera shook
		dot := p.Place(0.6)
		m := image.NewGray(image.Rect(0, 0, p.Width, p.Height))
		for y := -4; y <= 4; y++ {
			for x := -4; x <= 4; x++ {
				m.SetGray(int(dot.X)+x+dx, int(dot.Y)+y+dy, color.Gray{Y: 255})
			}
		}
		got, want := brightest(r.Print(i, m, dx, dy)), r.Where(i, Spot{X: math.Floor(dot.X), Y: math.Floor(dot.Y)})
		box := r.panels[i].box.Min
		if d := math.Hypot(got.X+float64(box.X)-want.X, got.Y+float64(box.Y)-want.Y); d > near {
			t.Errorf("panel %d: the dot is printed at (%.1f, %.1f), want (%.1f, %.1f)", i, got.X+float64(box.X), got.Y+float64(box.Y), want.X, want.Y)
		}
	}
	spec.Panels[0].Place = func(float64) Spot { return Spot{} }
	if _, err := NewRace(spec); err == nil {
		t.Error("a panel without any height gave no error")
	}
}

// brightest is the middle of what is white and lies away from the lines of the heights.
func brightest(m *image.RGBA) Spot {
	var sx, sy, n float64
	for y := range m.Rect.Dy() {
		for x := range m.Rect.Dx() {
			if c := m.RGBAAt(x, y); c.R > 252 && c.G > 252 && c.B > 252 {
				sx, sy, n = sx+float64(x), sy+float64(y), n+1
			}
		}
	}
	return Spot{X: sx / n, Y: sy / n}
}

// The pens draw as far as the instant and no farther; a launch that has stopped stays as it was.
func TestRacePensKeepToTheInstant(t *testing.T) {
	t.Parallel()
	spec := RaceSpec{Panels: []RacePanel{upward(200, 400, 0, 90, 350, 0, -1, 150), upward(200, 400, 0, 90, 350, 0, -1, 150)},
		Finish: Level{2, "2 m"}, From: 0, To: 1, TopSpeed: 10, Speed: Axis{"speed, m/s", 1}}
	r, err := NewRace(spec)
	if err != nil {
		t.Fatal(err)
	}
	for k := range 51 {
		at := float64(k) / 100
		r.Frame(at, [2]string{"", ""}, []RaceMoment{{Speed: 10 * at}, {Speed: 5, Still: at > 0.25}})
	}
	c := &r.chart
	inked := func(t, v float64, pen color.NRGBA) bool {
		for dy := -1; dy <= 1; dy++ {
			q := r.paper.RGBAAt(int(math.Round(c.x(t))), int(math.Round(c.y(v)))+dy)
			if difference([]uint8{q.R, q.G, q.B}, []uint8{pen.R, pen.G, pen.B}) < 40 {
				return true
			}
		}
		return false
	}
	if !inked(0.4, 4, pens[0]) {
		t.Error("the first pen has not drawn where it went")
	}
	if inked(0.6, 6, pens[0]) {
		t.Error("the first pen has drawn ahead of the instant")
	}
	drawn := 0 // dashed
	for x := 0.05; x < 0.24; x += 0.002 {
		if inked(x, 5, pens[1]) {
			drawn++
		}
	}
	if drawn < 30 || inked(0.35, 5, pens[1]) || inked(0.36, 5, pens[1]) || inked(0.37, 5, pens[1]) {
		t.Errorf("the second pen has drawn at %d of 95 places before it stopped, or after it", drawn)
	}
}

func TestTicksAreRoundAndFew(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		lo, hi      float64
		most        int
		first, last string
		n           int
	}{
		{0, 10, 5, "0", "10", 6}, {-12, 113, 14, "-10", "110", 13}, {0, 0.9, 5, "0.0", "0.8", 5}, {0, 1, 1, "0", "1", 2}, {0, 27, 3, "0", "20", 3},
	} {
		got := ticks(c.lo, c.hi, c.most)
		if len(got) != c.n || got[0].label != c.first || got[len(got)-1].label != c.last {
			t.Errorf("ticks(%g, %g, %d) = %v, want %d from %s to %s", c.lo, c.hi, c.most, got, c.n, c.first, c.last)
		}
	}
	if ticks(1, 1, 5) != nil {
		t.Error("an axis of no length has ticks")
	}
}

// BenchmarkPrint prints frames as a race does, and the same by a general transformation.
func BenchmarkPrint(b *testing.B) {
	p := upward(400, 960, 0, 200, 800, 0, -1, 400)
	r, err := NewRace(RaceSpec{Panels: []RacePanel{p, p}, Finish: Level{1.5, "1.5 m"}, Levels: []Level{{1, "1 m"}, {0.5, "0.5 m"}}, To: 1})
	if err != nil {
		b.Fatal(err)
	}
	m := image.NewRGBA(image.Rect(0, 0, p.Width, p.Height))
	b.Run("enlarge", func(b *testing.B) {
		for range b.N {
			r.Print(0, m, 0, 0)
		}
	})
	b.Run("general", func(b *testing.B) {
		q := &r.panels[0]
		for range b.N {
			out := newCanvas(q.box.Dx(), q.box.Dy(), nothing)
			draw.ApproxBiLinear.Transform(out.RGBA, q.matrix(0, 0), m, m.Rect, draw.Src, nil)
		}
	})
}

func TestBetweenMixesEachByte(t *testing.T) {
	t.Parallel()
	a, b := uint32(0xff00c864), uint32(0x00ff64c9)
	for w := uint32(0); w <= 256; w++ {
		got := between(a, b, w)
		for shift := 0; shift < 32; shift += 8 {
			x, y := a>>shift&0xff, b>>shift&0xff
			if want := (x*(256-w) + y*w + 128) / 256; got>>shift&0xff != want {
				t.Fatalf("between(%#x, %#x, %d): byte %d is %d, want %d", a, b, w, shift/8, got>>shift&0xff, want)
			}
		}
	}
}
