package picture

import (
	"image"
	"image/color"
	"math"
	"strings"
	"testing"

	"golang.org/x/image/draw"
)

// markedSpec is footage of a size with two gates, the flight straight up its middle.
func markedSpec(w, h int, shape image.Point) MarkedSpec {
	x := float64(w) / 2
	line := func(y float64) []Spot { return []Spot{{X: x - 40, Y: y}, {X: x + 40, Y: y}} }
	return MarkedSpec{Fit: Fit(image.Pt(w, h), shape, false, Spot{}), Title: "Heron", Caption: "slowed 40 times",
		Gates:  []MarkedGate{{"1 m", line(float64(h) * 0.6)}, {"2 m", line(float64(h) * 0.3)}},
		Flight: [2]Spot{{X: x, Y: float64(h) * 0.9}, {X: x, Y: float64(h) * 0.1}},
		Clock:  "-12.3 ms", Readings: []string{"105.62 ± 0.68 km/h", "29.7 ± 1.3 g"},
		Splits: [][]string{{"1 m", "54.46 ± 0.35 ms", "50.1 ± 0.4 km/h"}, {"100 km/h", "66.76 ± 0.34 ms"}, {"2 m", "91.66 ± 0.36 ms", "99.1 ± 0.6 km/h"}}}
}

func markedMoment(s MarkedSpec) MarkedMoment {
	here := Spot{X: s.Flight[0].X, Y: s.Gates[1].Line[0].Y + 60}
	return MarkedMoment{Clock: "66.8 ms", Readings: []string{"100.12 ± 0.68 km/h", "31.7 ± 1.3 g"}, Splits: 2, Fresh: 1,
		Gates: [][]Spot{s.Gates[0].Line, s.Gates[1].Line}, Passed: []bool{true, false}, Trail: []Spot{{X: here.X, Y: here.Y + 30}, here}, Here: &here}
}

// What is marked is the same whether it lies on the footage already or is laid over it as a picture
// with alpha, moment after moment; and what one moment marked is gone in the next, beside the
// footage too.
func TestMarkedIsItsOverlay(t *testing.T) {
	t.Parallel()
	const near = 2 // levels: two roundings
	for _, shape := range []image.Point{{}, {16, 9}, {9, 16}, {1, 1}} {
		spec := markedSpec(320, 640, shape)
		m := NewMarked(spec)
		ground := image.NewRGBA(image.Rect(0, 0, 320, 640))
		for i := range ground.Pix {
			ground.Pix[i] = uint8(i*7) | 0x0f
		}
		for k, mo := range []MarkedMoment{markedMoment(spec), {}, markedMoment(spec)} {
			m.Mark(mo)
			if k == 2 {
				m.MarkCard(MarkedCard{Title: "Heron", Rows: []CardRow{{"peak speed in view", "at least 30 m/s", "29 to 31 m/s"}}})
			}
			got := m.Frame(ground)
			want := NewMarked(MarkedSpec{Fit: spec.Fit, Flight: spec.Flight}).Frame(ground) // nothing is marked on it
			draw.Draw(want, want.Rect, m.Alpha(), image.Point{}, draw.Over)
			for i := range got.Pix {
				if d := int(got.Pix[i]) - int(want.Pix[i]); d > near || d < -near {
					t.Fatalf("shape %v, moment %d: pixel (%d, %d) is %d, want %d", shape, k, i%got.Stride/4, i/got.Stride, got.Pix[i], want.Pix[i])
				}
			}
		}
	}
}

// Text keeps off the flight whatever the shape, and lies inside the picture.
func TestMarkedTextKeepsOffTheFlight(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		w, h  int
		shape image.Point
		at    float64 // of the width, where the flight is
	}{{720, 1280, image.Point{}, 0.46}, {1280, 720, image.Point{}, 0.5}, {1280, 720, image.Point{}, 0.15}, {320, 960, image.Pt(9, 16), 0.5}, {320, 960, image.Pt(16, 9), 0.5}, {320, 960, image.Pt(1, 1), 0.5}} {
		spec := markedSpec(c.w, c.h, c.shape)
		x := c.at * float64(c.w)
		spec.Flight[0].X, spec.Flight[1].X = x, x
		if c.shape == image.Pt(9, 16) {
			spec.Fit = spec.Fit.Aside()
		}
		spec.Gates = nil
		m := NewMarked(spec)
		mo := markedMoment(markedSpec(c.w, c.h, c.shape))
		mo.Gates, mo.Trail, mo.Here = nil, nil, nil
		mo.Splits = len(spec.Splits)
		m.Mark(mo)
		on := spec.Fit.On(Spot{X: x}).X
		ink := image.Rectangle{}
		for y := range m.layer.Rect.Dy() {
			for x := range m.layer.Rect.Dx() {
				if m.layer.RGBAAt(x, y).A > 0 {
					ink = ink.Union(image.Rect(x, y, x+1, y+1))
					if math.Abs(float64(x)-on) < m.text/2 {
						t.Fatalf("%dx%d as %v: text covers the flight at (%d, %d)", c.w, c.h, c.shape, x, y)
					}
				}
			}
		}
		if ink.Empty() || !ink.In(m.safe) {
			t.Errorf("%dx%d as %v: text covers %v, safe is %v", c.w, c.h, c.shape, ink, m.safe)
		}
	}
}

// Letters keep a contrast of 4.5 to 1 (WCAG 2.2, 1.4.3) on a plate over the lightest and the
// darkest footage.
func TestMarkedContrast(t *testing.T) {
	t.Parallel()
	over := func(c color.NRGBA, ground float64) color.NRGBA {
		mix := func(v uint8) uint8 {
			return uint8(math.Round(float64(v)*float64(c.A)/255 + ground*(1-float64(c.A)/255)))
		}
		return color.NRGBA{mix(c.R), mix(c.G), mix(c.B), 0xff}
	}
	luminance := func(c color.NRGBA) float64 {
		lin := func(v uint8) float64 {
			s := float64(v) / 255
			if s <= 0.04045 {
				return s / 12.92
			}
			return math.Pow((s+0.055)/1.055, 2.4)
		}
		return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
	}
	for _, ground := range []float64{0, 255} {
		for _, text := range []color.NRGBA{paper, muted} {
			if r := (luminance(text) + 0.05) / (luminance(over(plate, ground)) + 0.05); r < 4.5 {
				t.Errorf("on footage of level %g text has a contrast of %.1f", ground, r)
			}
		}
	}
	if r := (luminance(paper) + 0.05) / (luminance(fresh) + 0.05); r < 4.5 {
		t.Errorf("a new split has a contrast of %.1f", r)
	}
}

// Whatever a title holds comes out as text, as wide as may be: letters of any script, marks of
// direction, markup, nothing at all.
func TestMarkedTitles(t *testing.T) {
	t.Parallel()
	for _, title := range []string{"", " ", "<script>alert(1)</script>", strings.Repeat("long ", 200), strings.Repeat("w", 500), "火箭 🚀 مرحبا", "\u202eabc\u0000\n\t", "a\xffb", "e\u0301\u200d"} {
		spec := markedSpec(320, 640, image.Point{})
		spec.Title = title
		m := NewMarked(spec)
		m.Mark(MarkedMoment{})
		if p := m.plates.title; p != nil && p.Rect.Dx() > m.safe.Dx() {
			t.Errorf("%.20q is %d px wide", title, p.Rect.Dx())
		}
		m.MarkCard(MarkedCard{Title: title, Under: title, Rows: []CardRow{{title, title, title}}})
	}
	got := string(NotHeld("Heron é 火火 שלום"))
	if got != "火" {
		t.Errorf("%q is not held, want 火 alone", got)
	}
	// A letter that is not held leaves ink: a box.
	m := NewMarked(markedSpec(320, 640, image.Point{}))
	box := m.plate([]line{{cells: []cell{{"火", writing{size: 30, col: color.White}}}}}, nil, 4)
	lit := 0
	for i := 0; i < len(box.Pix); i += 4 {
		if box.Pix[i] > 0xd0 {
			lit++
		}
	}
	if lit < 20 {
		t.Errorf("a letter that is not held leaves %d lit pixels", lit)
	}
}

// Text is drawn in the order in which it is seen: examples of Unicode Standard Annex 9 in its own
// manner, here with real letters (Hebrew is written from the right).
func TestVisualOrder(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"Heron":          "Heron",
		"car אבג end":    "car גבא end",
		"אבג":            "גבא",
		"אבג (de)":       "(de) גבא",
		"car אבג 12 דה":  "car הד 12 גבא",
		"a\u202eb\u2069": "ab",
		"e\u0301":        "é",
		"a\tb":           "a\tb",
	} {
		if got := visual(text); got != want && !(text == "a\tb" && got == "a b") {
			t.Errorf("%q is drawn as %q, want %q", text, got, want)
		}
	}
}

// Footage lies on canvases of other shapes at its own size, whole where it is padded.
func TestFit(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		size, shape image.Point
		crop        bool
		want        Fitted
	}{
		{image.Pt(321, 960), image.Point{}, true, Fitted{image.Pt(322, 960), image.Rect(0, 0, 321, 960), image.Point{}}},
		{image.Pt(320, 960), image.Pt(9, 16), false, Fitted{image.Pt(540, 960), image.Rect(0, 0, 320, 960), image.Pt(110, 0)}},
		{image.Pt(1920, 1080), image.Pt(1, 1), true, Fitted{image.Pt(1080, 1080), image.Rect(840, 0, 1920, 1080), image.Point{}}},
		{image.Pt(1920, 1080), image.Pt(1, 1), false, Fitted{image.Pt(1920, 1920), image.Rect(0, 0, 1920, 1080), image.Pt(0, 420)}},
		{image.Pt(720, 1280), image.Pt(16, 9), true, Fitted{image.Pt(720, 406), image.Rect(0, 597, 720, 1003), image.Point{}}},
	} {
		f := Fit(c.size, c.shape, c.crop, Spot{X: 1800, Y: 800})
		if f != c.want {
			t.Errorf("%v as %v: %+v, want %+v", c.size, c.shape, f, c.want)
		}
		if on := f.On(Spot{X: float64(f.Part.Min.X), Y: float64(f.Part.Min.Y)}); on != (Spot{X: float64(f.At.X), Y: float64(f.At.Y)}) {
			t.Errorf("%v as %v: its corner lies at %v", c.size, c.shape, on)
		}
	}
}
