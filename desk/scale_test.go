package desk

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"padside/camera"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/trace"
)

// A level camera of 1800 px focal length looks at a flight line 8 m away; rest is 1 m below
// its axis. What lies h above rest is seen at y = 999.5 + 225 (1 - h).
const (
	filmedWidth  = 1000
	filmedHeight = 2000
	perMetre     = 225.0 // px
)

func seenAt(h float64) float64 { return 999.5 + perMetre*(1-h) }

const allExact = `rod_range = "8(0) m"
flight_range = "8(0) m"
lean = "0(0) deg"
mark_uncertainty = "0 px"
`

const exactCamera = `focal_length = "9(0) mm"
pixel_pitch = "5 um"
tilt = "0(0) deg"
`

// rodMarks writes marks at the given heights; more is added to the last of them.
func rodMarks(more string, heights ...float64) string {
	var list []string
	for i, h := range heights {
		add := ""
		if i == len(heights)-1 {
			add = more
		}
		list = append(list, fmt.Sprintf(`{ at = "%g m", x = 499.5, y = %.4f%s }`, h, seenAt(h), add))
	}
	return "kind = \"rod\"\nmarks = [ " + strings.Join(list, ", ") + " ]\n"
}

// readScale carries a launch file's [scale] and [camera] to a calibrated scale along the flight.
func readScale(t *testing.T, scale, lens string) *camera.Scale {
	t.Helper()
	text := "format = 1\n[footage]\npath = \"a.mp4\"\n[scale]\n" + scale + "[camera]\n" + lens
	l, err := logbook.ParseLaunch([]byte(text), "launch.toml")
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	line := camera.FlightLine{Rest: camera.Pixel{X: 499.5, Y: seenAt(0)}, Uy: -1}
	s, _, err := camera.Calibrate(scaleSpec(l, footage.Info{Width: filmedWidth, Height: filmedHeight}), line, 2*perMetre, camera.Growth{})
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return s
}

// relativeU is the relative standard uncertainty of the height at 2 m.
func relativeU(s *camera.Scale) float64 {
	const n = 4000
	setup, launch := rand.New(rand.NewPCG(1, 2)), rand.New(rand.NewPCG(3, 4))
	h := s.Height(2 * perMetre)
	var sum, squares float64
	for range n {
		y, _, _ := s.Warp(setup, launch, "").At(h)
		sum, squares = sum+y/h-1, squares+(y/h-1)*(y/h-1)
	}
	return math.Sqrt(squares/n - sum*sum/n/n)
}

// TestScaleKeys: each key of [scale] and [camera] takes effect, as its own formula says.
func TestScaleKeys(t *testing.T) {
	t.Parallel()
	const (
		notAsked = -1.0 // of a standard uncertainty
		exact    = 1e-6 // relative, of heights: marks are written to 1e-4 px
		drawn    = 0.06 // relative, of standard uncertainties: four times that of 4000 draws, and second order
		degree   = math.Pi / 180
	)
	with := func(s string, pairs ...string) string { return strings.NewReplacer(pairs...).Replace(s) }
	rod := rodMarks("", 0, 0.5, 1, 1.5, 2)
	two := rodMarks("", 0, 1)
	lengthOf := func(l string) string {
		return fmt.Sprintf("kind = \"length\"\nlength = %q\nends = [ { x = 499.5, y = %g }, { x = 499.5, y = %g } ]\n", l, seenAt(0), seenAt(0.5))
	}
	planeOf := func(more string) string {
		var list []string
		for _, p := range [][2]float64{{-1, 0}, {1, 0}, {-1, 2}, {1, 2}} {
			list = append(list, fmt.Sprintf(`{ at = ["%g m", "%g m"], x = %g, y = %g%s }`, p[0], p[1], 499.5+perMetre*p[0], seenAt(p[1]), more))
		}
		return "kind = \"plane\"\npoints = [ " + strings.Join(list, ", ") + " ]\n"
	}
	// seen from 1 m above rest at 8 m, h along a flight that leans by t away lies at the height 2
	// of the plane through rest where 2 = 1 + (h cos t - 1)/(1 + h sin t/8)
	leaning := func(t float64) float64 { return 2 / (math.Cos(t) - math.Sin(t)/8) }
	withWidths := func(low, high string) string {
		return with(two, " },", fmt.Sprintf(", width = %q },", low), " } ]", fmt.Sprintf(", width = %q } ]", high))
	}
	// one metre at both ends of 225 px, c seen by widths: h(450) = 2 (1 + 225 c)/(1 + 450 c)
	withC := func(c float64) float64 { return 2 * (1 + perMetre*c) / (1 + 2*perMetre*c) }
	slope := func(f func(float64) float64, u float64) float64 { return (f(u) - f(-u)) / 2 / f(0) }
	cases := []struct {
		name, scale, lens string
		height, u         float64 // m at 450 px; relative standard uncertainty
		source            string  // the only one; "": none
	}{
		{"all exact", rod + allExact, exactCamera, 2, 0, ""},
		{"ranges", rod + with(allExact, `rod_range = "8(0) m"`, `rod_range = "8.00(2) m"`, `flight_range = "8(0) m"`, `flight_range = "8.40(5) m"`), exactCamera,
			2.1, math.Hypot(0.02/8, 0.05/8.4), "camera distance"},
		{"ranges without uncertainty", rod + with(allExact, `"8(0) m"`, `"8 m"`), exactCamera, 2, 0.005 * math.Sqrt2, "camera distance"},
		{"ranges not given", rod + with(allExact, "rod_range = \"8(0) m\"\n", ""), exactCamera, 2, 0.03 / math.Sqrt(3), "camera distance"},
		{"on the flight line", rod + "on_flight_line = true\nmark_uncertainty = \"0 px\"\n", exactCamera, 2, 0, ""},
		{"a known lean", rod + with(allExact, `"0(0) deg"`, `"5(0) deg"`), exactCamera, leaning(5 * degree), 0, ""},
		{"an uncertain lean", rod + with(allExact, `"0(0) deg"`, `"0(1) deg"`), exactCamera, 2, slope(leaning, degree), "lean of the flight"},
		{"lean not given", rod + with(allExact, "lean = \"0(0) deg\"\n", ""), exactCamera, 2, slope(leaning, 2*degree), "lean of the flight"},
		{"mark_uncertainty", two + with(allExact, `"0 px"`, `"2 px"`), exactCamera, 2, notAsked, "scale marks"},
		{"a mark's own u", rodMarks(`, u = "2 px"`, 0, 1) + allExact, exactCamera, 2, notAsked, "scale marks"},
		{"a mark's height", with(two, `"1 m"`, `"1.00(1) m"`) + allExact, exactCamera, 2, notAsked, "scale marks"},
		{"tilt", two + allExact, with(exactCamera, `"0(0) deg"`, `"0(1) deg"`), 2, math.Tan(degree) / 1800 * perMetre, "camera tilt"},
		{"focal length", lengthOf("0.5(0) m") + allExact, with(exactCamera, `"9(0) mm"`, `"9.0(9) mm"`, `"0(0) deg"`, `"10(0) deg"`), -1, notAsked, "lens"},
		{"pixel pitch", lengthOf("0.5(0) m") + allExact, with(exactCamera, `"5 um"`, `"5.0(5) um"`, `"0(0) deg"`, `"10(0) deg"`), -1, notAsked, "lens"},
		{"widths", withWidths("100.0(2) px", "97.0(2) px") + allExact, "", withC(-0.03 / perMetre), slope(func(e float64) float64 { return withC((-0.03 + 0.97*e) / perMetre) }, 0.002*math.Sqrt2), "apparent size"},
		{"length", lengthOf("0.50(1) m") + allExact, exactCamera, 2, 0.02, "reference length"},
		{"length without uncertainty", lengthOf("0.5 m") + allExact, exactCamera, 2, 0.005, "reference length"},
		{"plane", planeOf("") + allExact, exactCamera, 2, 0, ""},
		{"a point's own u", planeOf(`, u = "1 px"`) + allExact, exactCamera, 2, notAsked, "scale marks"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := readScale(t, c.scale, c.lens)
			if h := s.Height(2 * perMetre); c.height > 0 && math.Abs(h/c.height-1) > exact {
				t.Errorf("height = %.7f, want %.7f", h, c.height)
			}
			if u := relativeU(s); c.u != notAsked && math.Abs(u-math.Abs(c.u)) > drawn*math.Abs(c.u)+1e-9 {
				t.Errorf("relative standard uncertainty = %.5f, want %.5f", u, c.u)
			}
			want := []string{c.source}
			if c.source == "" {
				want = nil
			}
			if got := s.Sources(); !slices.Equal(got, want) {
				t.Errorf("sources %q, want %q", got, want)
			}
		})
	}
	// twice the uncertainty of a mark, of either end or of the lens: about twice that of the height
	for _, k := range []struct{ name, scale, lens, twice, lensTwice string }{
		{"mark_uncertainty", two + with(allExact, `"0 px"`, `"1 px"`), exactCamera, two + with(allExact, `"0 px"`, `"2 px"`), exactCamera},
		{"u of a mark", rodMarks(`, u = "1 px"`, 0, 1) + allExact, exactCamera, rodMarks(`, u = "2 px"`, 0, 1) + allExact, exactCamera},
		{"height of a mark", with(two, `"1 m"`, `"1.00(1) m"`) + allExact, exactCamera, with(two, `"1 m"`, `"1.00(2) m"`) + allExact, exactCamera},
		{"focal length", lengthOf("0.5(0) m") + allExact, with(exactCamera, `"9(0) mm"`, `"9.0(2) mm"`, `"0(0) deg"`, `"10(0) deg"`),
			lengthOf("0.5(0) m") + allExact, with(exactCamera, `"9(0) mm"`, `"9.0(4) mm"`, `"0(0) deg"`, `"10(0) deg"`)},
		{"pixel pitch", lengthOf("0.5(0) m") + allExact, with(exactCamera, `"5 um"`, `"5.0(1) um"`, `"0(0) deg"`, `"10(0) deg"`),
			lengthOf("0.5(0) m") + allExact, with(exactCamera, `"5 um"`, `"5.0(2) um"`, `"0(0) deg"`, `"10(0) deg"`)},
		{"u of points", planeOf(`, u = "1 px"`) + allExact, exactCamera, planeOf(`, u = "2 px"`) + allExact, exactCamera},
	} {
		once, twice := relativeU(readScale(t, k.scale, k.lens)), relativeU(readScale(t, k.twice, k.lensTwice))
		if !(once > 1e-4) || math.Abs(twice/once-2) > 2*drawn {
			t.Errorf("%s: %.5f, and of twice that %.5f", k.name, once, twice)
		}
	}
}

// TestScaleDistortion: k1 and k2 bend what is filmed; with them heights are as without a lens's bending.
func TestScaleDistortion(t *testing.T) {
	t.Parallel()
	const exact = 1e-5 // relative: marks are written to 1e-4 px
	d := camera.Distortion{Centre: camera.Pixel{X: 499.5, Y: 999.5}, Focal: 1800, K1: -0.2, K2: 0.05}
	filmed := func(h float64) camera.Pixel { return d.Apply(camera.Pixel{X: 499.5, Y: seenAt(h)}) }
	var list []string
	for _, h := range []float64{-1, 0, 1, 2, 3} {
		list = append(list, fmt.Sprintf(`{ at = "%g m", x = 499.5, y = %.4f }`, h+1, filmed(h).Y))
	}
	s := readScale(t, "kind = \"rod\"\nmarks = [ "+strings.Join(list, ", ")+" ]\n"+allExact, exactCamera+"k1 = -0.2\nk2 = 0.05\n")
	rest := s.HeightAt(filmed(0))
	for _, h := range []float64{0.5, 2, 3} {
		if got := s.HeightAt(filmed(h)) - rest; math.Abs(got/h-1) > exact {
			t.Errorf("height of %g m = %.6f m", h, got)
		}
	}
}

// TestScaleFollowsSize: a vehicle of known length seen by a camera tilted up by 12 degrees, which nobody
// stated. The trace's apparent sizes carry the perspective to the scale: heights are true to within their
// interval all the way up, where the length at rest alone errs several times as much.
func TestScaleFollowsSize(t *testing.T) {
	t.Parallel()
	const (
		focal, away, below = 1800.0, 8.0, 0.8 // px; m; m of rest below the camera
		vehicle, top       = 0.6, 3.0         // m
		uSize              = 0.004
	)
	sin, cos := math.Sincos(12 * math.Pi / 180)
	see := func(across, h float64) camera.Pixel {
		y, z := (h-below)*cos-away*sin, (h-below)*sin+away*cos
		return camera.Pixel{X: 499.5 + focal*across/z, Y: 999.5 - focal*y/z}
	}
	rest, end := see(0, 0), see(0, top)
	p := trace.Path{Line: camera.FlightLine{Rest: rest, Uy: -1}}
	r := rand.New(rand.NewPCG(4, 4))
	for i := range 60 {
		h := top * float64(i) / 59
		long := (see(0, h-vehicle/2).Y - see(0, h+vehicle/2).Y) / (see(0, -vehicle/2).Y - see(0, vehicle/2).Y)
		broad := (see(0.1, h).X - see(-0.1, h).X) / (see(0.1, 0).X - see(-0.1, 0).X)
		at := see(0, h)
		p.Points = append(p.Points, trace.Point{Frame: i, X: at.X, Y: at.Y, Size: math.Sqrt(long*broad) + uSize*r.NormFloat64(), USize: uSize})
	}
	low, high := see(0, -vehicle/2), see(0, vehicle/2)
	text := fmt.Sprintf("format = 1\n[footage]\npath = \"a.mp4\"\n[scale]\nkind = \"length\"\nlength = \"0.600(1) m\"\nends = [ { x = 499.5, y = %.4f }, { x = 499.5, y = %.4f } ]\n"+
		"[camera]\nfocal_length = \"9.0(1) mm\"\npixel_pitch = \"5 um\"\n", low.Y, high.Y)
	l, err := logbook.ParseLaunch([]byte(text), "launch.toml")
	if err != nil {
		t.Fatal(err)
	}
	worst := func(g camera.Growth) (errs, outside float64, codes []string) {
		s, warnings, err := camera.Calibrate(scaleSpec(l, footage.Info{Width: filmedWidth, Height: filmedHeight}), p.Line, rest.Y-end.Y, g)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range warnings {
			codes = append(codes, w.Code)
		}
		for _, h := range []float64{0.5, 1, 2, 3} {
			nominal := s.HeightAt(see(0, h))
			draws := make([]float64, 2000)
			for i := range draws {
				draws[i], _, _ = s.Warp(r, r, "").At(nominal)
			}
			iv, err := metrology.ShortestInterval(draws, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			errs = max(errs, math.Abs(nominal/h-1))
			if !iv.Holds(h) {
				outside++
			}
		}
		return errs, outside, codes
	}
	alone, _, _ := worst(camera.Growth{})
	followed, outside, codes := worst(growth(p))
	t.Logf("heights err by up to %.1f %% by the length at rest alone, %.1f %% with the apparent size %v", 100*alone, 100*followed, codes)
	if outside > 0 || followed > alone/3 {
		t.Errorf("heights err by up to %.1f %% with the apparent size, %.1f %% without; %g of 4 are outside their intervals", 100*followed, 100*alone, outside)
	}
}
