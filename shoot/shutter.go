package shoot

import (
	"math/rand/v2"

	"padside/scene"
	"padside/timebase"
)

// statedRowTimeU is the relative standard uncertainty of a row time that is stated without one, as
// in launch files.
const statedRowTimeU = 0.04

// advice is what to do about a rolling shutter, which shows the top of the picture at another time
// than its bottom. The rows of a camera that lies on its side, as those of a phone held upright,
// run along the flight: they are read sideways, and all of an upright flight line is seen at one
// time.
func (c Camera) advice(p Place) string {
	if p.Rotated || c.Shutter == Global {
		return ""
	}
	why := "its shutter is not stated and may be rolling"
	if c.Shutter == Rolling || c.RowTime.Value > 0 {
		why = "its shutter is rolling"
	}
	return why + ": turn the camera so that the long side of its picture stands upright (rotated = true), as a phone is held upright; its rows are then read sideways, and what a rolling shutter does to a vehicle that goes up nearly vanishes"
}

// shutter is what is known of a camera's shutter, as a launch file would state it.
func (c Camera) shutter() timebase.Shutter {
	s := timebase.Shutter{Kind: timebase.Kind(c.Shutter), RowTime: c.RowTime.Value, RowTimeU: c.RowTime.U}
	if s.RowTime > 0 {
		s.Kind = timebase.Rolling
		if s.RowTimeU == 0 && !c.RowTime.Exact {
			s.RowTimeU = statedRowTimeU * s.RowTime
		}
	}
	return s
}

// clock is what a mode's footage leaves open of when the rows of a picture are exposed. The file of
// a clip tells how the camera was held. Stills that are stored upright do not, so that a burst
// whose rows are read sideways is taken for what that comes to on an upright flight line, a global
// shutter.
func (s *Shoot) clock(o *Option) timebase.Doubt {
	f := timebase.Filmed{Interval: 1 / o.Rate, Width: o.view.across, Height: o.view.along, Stills: o.camera.Burst != nil}
	base := timebase.Base{Shutter: o.camera.shutter(), Exposure: o.Exposure, Readout: timebase.Readout{Y: 1}}
	switch {
	case s.Place.Rotated && f.Stills:
		base.Shutter = timebase.Shutter{Kind: timebase.Global}
	case s.Place.Rotated:
		base.Readout, f.Turned = timebase.Readout{X: 1}, true
	}
	f.Readout = base.Readout
	return base.Doubt(f)
}

// rows draws which row of the picture is read first, and how long a mode's camera takes from one to
// the next, s, of what is known of it.
func (s *Shoot) rows(o *Option, r *rand.Rand) (scene.Readout, float64) {
	d := timebase.NewReader(s.clock(o).Scans, nil).Draw(r)
	switch {
	case d.X > 0:
		return scene.FromLeft, d.X
	case d.X < 0:
		return scene.FromRight, -d.X
	case d.Y < 0:
		return scene.FromBottom, -d.Y
	}
	return scene.FromTop, d.Y
}
