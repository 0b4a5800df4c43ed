package desk

import (
	"padside/camera"
	"padside/footage"
	"padside/logbook"
	"padside/units"
)

// scaleSpec carries the launch file's scale to the camera.
func scaleSpec(l *logbook.Launch, info footage.Info) camera.Spec {
	s := l.Scale
	spec := camera.Spec{
		Kind: s.Kind, MarkU: s.MarkU, OnLine: s.OnLine, Width: info.Width, Height: info.Height,
		RodRange:    measured(s.RodRange, s.RodRangeGiven),
		FlightRange: measured(s.FlightRange, s.FlightRangeGiven),
		Lean:        measured(s.Lean, s.LeanGiven),
		Length:      measured(s.Length, s.LengthGiven),
		Lens: camera.Lens{
			FocalLength: measured(l.Camera.FocalLength, l.Camera.FocalLength.Value > 0),
			PixelPitch:  measured(l.Camera.PixelPitch, l.Camera.PixelPitch.Value > 0),
			Tilt:        measured(l.Camera.Tilt, l.Camera.TiltGiven), K1: l.Camera.K1, K2: l.Camera.K2,
		},
	}
	for _, m := range s.Marks {
		mark := camera.Mark{Height: m.At.Value, U: m.At.U, At: camera.Pixel{X: m.X, Y: m.Y}, AtU: m.U}
		if m.Width != nil {
			mark.Width, mark.WidthU = m.Width.Value, m.Width.U
		}
		spec.Marks = append(spec.Marks, mark)
	}
	for i := range min(2, len(s.Ends)) {
		spec.Ends[i] = camera.Pixel{X: s.Ends[i][0], Y: s.Ends[i][1]}
	}
	for _, p := range s.Points {
		spec.Plane = append(spec.Plane, camera.PlanePoint{X: p.AtX, Y: p.AtY, At: camera.Pixel{X: p.X, Y: p.Y}, AtU: p.U})
	}
	return spec
}

// measured tells a quantity stated without uncertainty from one stated as exact, "8.15(0) m".
func measured(q units.Quantity, given bool) camera.Measured {
	return camera.Measured{Value: q.Value, U: q.U, Given: given, Exact: given && q.Stated && q.U == 0}
}
