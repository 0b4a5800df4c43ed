package camera

import (
	"math"

	"padside/fault"
)

// leastSpread is how far apart marks must be at least, px: nearer they are at one place.
const leastSpread = 2.0

// check refuses what cannot give a scale, naming it.
func check(s Spec, line FlightLine, reach float64, g Growth) error {
	for _, c := range []struct {
		name   string
		values []float64
	}{
		{"the flight line", []float64{line.Rest.X, line.Rest.Y, line.Ux, line.Uy, reach}},
		{"mark_uncertainty", []float64{*s.MarkU}},
		{"rod_range", []float64{s.RodRange.Value, s.RodRange.U}},
		{"flight_range", []float64{s.FlightRange.Value, s.FlightRange.U}},
		{"lean", []float64{s.Lean.Value, s.Lean.U}},
		{"length", []float64{s.Length.Value, s.Length.U}},
		{"the camera", []float64{s.Lens.FocalLength.Value, s.Lens.FocalLength.U, s.Lens.PixelPitch.Value, s.Lens.PixelPitch.U, s.Lens.Tilt.Value, s.Lens.Tilt.U, s.Lens.K1, s.Lens.K2}},
		{"the apparent size", []float64{g.Rate, g.U, g.Wide, g.RatePerSkew, g.RateBend, g.Skew, g.SkewU}},
	} {
		for _, v := range c.values {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fault.Requestf("give finite numbers", "%s holds a number that is not finite", c.name)
			}
		}
	}
	if math.Abs(math.Hypot(line.Ux, line.Uy)-1) > 1e-6 || reach < 0 {
		return fault.Requestf("the traced points must lie apart along a line", "the flight line has no direction")
	}
	if err := checkCircumstances(s); err != nil {
		return err
	}
	switch s.Kind {
	case KindRod:
		return checkMarks(s)
	case KindLength:
		return checkLength(s)
	case KindPlane:
		return checkPlane(s)
	}
	return fault.Requestf(`kind is "rod", "length" or "plane"`, "there is no scale of kind %q", s.Kind)
}

const (
	// farthestLean is how far out of the plane of view a flight may lean, two standard uncertainties included.
	farthestLean = 60 * math.Pi / 180
	// farthestRatio is how many times as far away as the flight line a rod may stand, or the other way round: beyond it a unit or a digit is wrong.
	farthestRatio = 3
)

// vaguest is the largest relative standard uncertainty of a stated length that still says anything.
const vaguest = 0.5

func checkCircumstances(s Spec) error {
	for _, c := range []struct {
		name string
		m    Measured
	}{{"rod_range", s.RodRange}, {"flight_range", s.FlightRange}, {"length", s.Length}, {"focal_length", s.Lens.FocalLength}, {"pixel_pitch", s.Lens.PixelPitch}} {
		if c.m.Given && c.m.U > vaguest*math.Abs(c.m.Value) {
			return fault.Requestf("measure it, or leave it out where it may be left out",
				"the uncertainty of %s, %.3g %% of it, leaves nothing of it", c.name, 100*c.m.U/math.Abs(c.m.Value))
		}
	}
	switch {
	case s.OnLine && s.Kind != KindRod:
		return fault.Requestf("leave on_flight_line out", "on_flight_line belongs to kind \"rod\"")
	case *s.MarkU < 0:
		return fault.Requestf(`for example mark_uncertainty = "0.5 px"`, "mark_uncertainty is negative")
	case s.RodRange.Given && s.RodRange.Value <= 0:
		return fault.Requestf("give the distance from the camera to the reference", "rod_range is not above zero")
	case s.FlightRange.Given && s.FlightRange.Value <= 0:
		return fault.Requestf("give the distance from the camera to the flight line", "flight_range is not above zero")
	case s.RodRange.U < 0 || s.FlightRange.U < 0 || s.Lean.U < 0 || s.Length.U < 0 || s.Lens.Tilt.U < 0 || s.Lens.FocalLength.U < 0 || s.Lens.PixelPitch.U < 0:
		return fault.Requestf("uncertainties are positive", "an uncertainty of the scale is negative")
	case s.RodRange.Given && s.FlightRange.Given && !s.OnLine && max(s.RodRange.Value/s.FlightRange.Value, s.FlightRange.Value/s.RodRange.Value) > farthestRatio:
		return fault.Requestf("check both distances and their units; a rod that stands so far off gives no scale for the flight",
			"rod_range %.4g m and flight_range %.4g m: one is %.2g times the other", s.RodRange.Value, s.FlightRange.Value,
			max(s.RodRange.Value/s.FlightRange.Value, s.FlightRange.Value/s.RodRange.Value))
	case math.Abs(s.Lean.Value)+2*s.Lean.U > farthestLean:
		return fault.Requestf("a flight so far out of the plane of view needs a camera at its side",
			"lean %.0f(%.0f) degrees reaches beyond 60 degrees", s.Lean.Value*180/math.Pi, s.Lean.U*180/math.Pi)
	case s.Lens.Tilt.Given && math.Abs(s.Lens.Tilt.Value)+2*s.Lens.Tilt.U > 80*math.Pi/180:
		return fault.Requestf("tilt is the angle between the optical axis and the horizontal, up is positive",
			"a camera tilted by %.0f degrees does not see along the flight line", s.Lens.Tilt.Value*180/math.Pi)
	case s.Lens.FocalLength.Given && s.Lens.FocalLength.Value <= 0 || s.Lens.PixelPitch.Given && s.Lens.PixelPitch.Value <= 0:
		return fault.Requestf("give positive lengths, or leave them out", "focal_length or pixel_pitch is not above zero")
	case (s.Lens.K1 != 0 || s.Lens.K2 != 0) && (!s.Lens.FocalLength.Given || !s.Lens.PixelPitch.Given):
		return fault.Requestf("give focal_length and pixel_pitch too: k1 and k2 count in focal lengths",
			"k1 or k2 is given without the focal length in pixels")
	}
	return nil
}

func checkMarks(s Spec) error {
	if len(s.Marks) < 2 {
		return fault.Requestf("mark two or more heights of the rod; three show the perspective too",
			"%d mark(s) on the rod give no scale", len(s.Marks))
	}
	for i, m := range s.Marks {
		if math.IsNaN(m.Height) || math.IsInf(m.Height, 0) || math.IsNaN(m.U) || math.IsInf(m.U, 0) || m.U < 0 {
			return fault.Requestf("give each mark's height in metres", "mark %d has no finite height", i+1)
		}
		if !(s.markU(m.AtU) >= 0 && m.Width >= 0 && m.WidthU >= 0) || math.IsInf(s.markU(m.AtU)+m.Width+m.WidthU, 0) {
			return fault.Requestf(`for example u = "0.5 px", width = "25.2(5) px"`, "mark %d has an impossible uncertainty or width", i+1)
		}
		if err := inPicture(s, m.At, "mark", i); err != nil {
			return err
		}
		for j, o := range s.Marks[:i] {
			if o.Height == m.Height {
				return fault.Requestf("mark each height once", "marks %d and %d both stand for %.6g m", j+1, i+1, m.Height)
			}
		}
	}
	far := 0.0
	for _, m := range s.Marks {
		far = max(far, math.Hypot(m.At.X-s.Marks[0].At.X, m.At.Y-s.Marks[0].At.Y))
	}
	if far < leastSpread {
		return fault.Requestf("place the marks where their heights are seen", "the marks all lie at one place, within %.1f px", far)
	}
	return nil
}

func checkLength(s Spec) error {
	if !s.Length.Given || s.Length.Value <= 0 {
		return fault.Requestf(`for example length = "1.20(1) m"`, "the length of the reference is missing or not above zero")
	}
	for i, e := range s.Ends {
		if err := inPicture(s, e, "end", i); err != nil {
			return err
		}
	}
	if d := math.Hypot(s.Ends[1].X-s.Ends[0].X, s.Ends[1].Y-s.Ends[0].Y); d < leastSpread {
		return fault.Requestf("place the two ends of the object", "the ends of the length lie at one place, within %.1f px", d)
	}
	return nil
}

func checkPlane(s Spec) error {
	if len(s.Plane) < 4 {
		return fault.Requestf("give four or more points, not in line", "%d point(s) do not give the scale of a plane", len(s.Plane))
	}
	for i, p := range s.Plane {
		if math.IsNaN(p.X+p.Y) || math.IsInf(p.X+p.Y, 0) {
			return fault.Requestf("give each point's two coordinates in metres", "point %d has no finite place in the plane", i+1)
		}
		if u := s.markU(p.AtU); !(u >= 0) || math.IsInf(u, 0) {
			return fault.Requestf(`for example u = "0.5 px"`, "point %d has an impossible uncertainty", i+1)
		}
		if err := inPicture(s, p.At, "point", i); err != nil {
			return err
		}
		for j, o := range s.Plane[:i] {
			if o.X == p.X && o.Y == p.Y {
				return fault.Requestf("give each point once", "points %d and %d are the same point of the plane", j+1, i+1)
			}
			if math.Hypot(o.At.X-p.At.X, o.At.Y-p.At.Y) < leastSpread {
				return fault.Requestf("place each point where it is seen", "points %d and %d lie at one place in the picture", j+1, i+1)
			}
		}
	}
	return nil
}

// inPicture refuses places that are not finite or not in the picture.
func inPicture(s Spec, p Pixel, what string, i int) error {
	if math.IsNaN(p.X+p.Y) || math.IsInf(p.X+p.Y, 0) {
		return fault.Requestf("give x and y in pixels", "%s %d has no finite place in the picture", what, i+1)
	}
	if s.Width > 0 && s.Height > 0 && (p.X < -0.5 || p.Y < -0.5 || p.X > float64(s.Width)-0.5 || p.Y > float64(s.Height)-0.5) {
		return fault.Requestf("x counts to the right, y down, from the centre of the top left pixel, after rotation",
			"%s %d at (%.6g, %.6g) lies outside the picture of %d x %d", what, i+1, p.X, p.Y, s.Width, s.Height)
	}
	return nil
}

// farthestPixel is how far from the optical axis the picture or the marks reach, px.
func farthestPixel(s Spec, centre Pixel) float64 {
	far := 0.0
	put := func(p Pixel) { far = max(far, math.Hypot(p.X-centre.X, p.Y-centre.Y)) }
	if s.Width > 0 && s.Height > 0 {
		put(Pixel{0, 0})
		put(Pixel{float64(s.Width), float64(s.Height)})
		put(Pixel{float64(s.Width), 0})
		put(Pixel{0, float64(s.Height)})
	}
	switch s.Kind {
	case "rod":
		for _, m := range s.Marks {
			put(m.At)
		}
	case "plane":
		for _, p := range s.Plane {
			put(p.At)
		}
	case "length":
		put(s.Ends[0])
		put(s.Ends[1])
	}
	return far
}
