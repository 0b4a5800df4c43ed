package motion

import (
	"math/rand/v2"

	"padside/camera"
	"padside/timebase"
)

// Names of the parts of what is not known of a frame's exposure, in budgets.
const (
	SourceShutter  = "rolling shutter"
	SourceExposure = "exposure"
)

// Late returns draws of when the places of a flight line were seen, for Common, and the names of
// their sources; nil where nothing is open about it. The delay along the line in pixels becomes one
// in nominal heights, exact at rest, at half of the reach (px) and at all of it.
func Late(doubt timebase.Doubt, line camera.FlightLine, scale *camera.Scale, reach float64) (func(*rand.Rand, string) Delay, []string) {
	reader := timebase.NewReader(doubt.Scans, nil)
	var sources []string
	if reader != nil {
		sources = append(sources, SourceShutter)
	}
	if doubt.Longest > doubt.Least {
		sources = append(sources, SourceExposure)
	}
	if len(sources) == 0 {
		return nil, nil
	}
	h1, h2 := scale.Height(reach/2), scale.Height(reach)
	// s(h) = a h + b h^2 through (h1, reach/2) and (h2, reach).
	b := (reach/h2 - reach/2/h1) / (h2 - h1)
	a := reach/h2 - b*h2
	return func(setup *rand.Rand, hold string) Delay {
		d, q := reader.Draw(setup), setup.Float64()
		if hold == SourceShutter {
			d = reader.Mean()
		}
		if hold == SourceExposure {
			q = 0.5
		}
		x, y := d.X-doubt.Counted.X, d.Y-doubt.Counted.Y
		if reader == nil {
			x, y, d.Start = 0, 0, doubt.Counted.Start
		}
		per := x*line.Ux + y*line.Uy // s for each px along the line
		at := d.Start - doubt.Counted.Start + x*line.Rest.X + y*line.Rest.Y + doubt.Offset(q)
		return Delay{T0: at, T1: per * a, T2: per * b}
	}, sources
}
