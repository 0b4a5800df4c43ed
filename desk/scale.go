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
		Kind: s.Kind, MarkU: s.MarkU, Width: info.Width, Height: info.Height,
		RodRange:    measured(s.RodRange, s.RodRangeGiven),
		FlightRange: measured(s.FlightRange, s.FlightRangeGiven),
		Lean:        measured(s.Lean, true),
		Length:      measured(s.Length, s.LengthGiven),
		Lens: camera.Lens{FocalLength: l.Camera.FocalLength, PixelPitch: l.Camera.PixelPitch,
			Tilt: measured(l.Camera.Tilt, l.Camera.TiltGiven), K1: l.Camera.K1, K2: l.Camera.K2},
	}
	for _, m := range s.Marks {
		spec.Marks = append(spec.Marks, camera.Mark{Height: m.At.Value, At: camera.Pixel{X: m.X, Y: m.Y}})
	}
	for i := range min(2, len(s.Ends)) {
		spec.Ends[i] = camera.Pixel{X: s.Ends[i][0], Y: s.Ends[i][1]}
	}
	for _, p := range s.Points {
		spec.Plane = append(spec.Plane, camera.PlanePoint{X: p.AtX, Y: p.AtY, At: camera.Pixel{X: p.X, Y: p.Y}})
	}
	return spec
}

func measured(q units.Quantity, given bool) camera.Measured {
	return camera.Measured{Value: q.Value, U: q.U, Given: given}
}
