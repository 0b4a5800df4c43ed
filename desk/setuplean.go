package desk

import (
	"fmt"
	"math"

	"padside/camera"
	"padside/footage"
)

// laneSeen is what was kept of the first vehicle that was followed in a launch's footage. It holds whatever became of the scale since.
func (d *Desk) laneSeen(name string) (RecorderLane, bool) {
	var lanes []RecorderLane
	b, err := d.book.File(name, recorderFile)
	if err != nil || members(b, map[string]any{"lanes": &lanes}, nil) != nil || len(lanes) == 0 || (&Recorder{Of: "any", Lanes: lanes}).check() != nil {
		return RecorderLane{}, false
	}
	return lanes[0], true
}

func (l *RecorderLane) line() camera.FlightLine {
	return camera.FlightLine{Rest: camera.Pixel{X: l.Line.X0, Y: l.Line.Y0}, Ux: l.Line.Ux, Uy: l.Line.Uy}
}

// reach is how far the flight line goes to the edge of the picture, px.
func (l *RecorderLane) reach() float64 {
	return math.Max(1, math.Abs(l.Line.Y0*l.Line.Uy)+math.Abs(l.Line.X0*l.Line.Ux))
}

func (l *RecorderLane) growth() camera.Growth {
	if l.Growth == nil {
		return camera.Growth{}
	}
	return camera.Growth{Rate: l.Growth.Rate, U: l.Growth.U, Known: true, Ruler: l.Growth.Ruler, Wide: l.Growth.Wide}
}

// mostLeans is how many launches of a setup are asked for their leans, so that the page of a setup that many share opens at once.
const mostLeans = 40

// leansTold says how the flights filmed with a setup leaned, where their vehicles' lengths tell: those of two launches or more, for one is said already.
func (d *Desk) leansTold(names []string, info footage.Info) string {
	low, high, doubt, told := math.Inf(1), math.Inf(-1), 0.0, 0
	for _, name := range names[:min(len(names), mostLeans)] {
		l, err := d.book.Resolve(name)
		if err != nil {
			continue
		}
		seen, ok := d.laneSeen(name)
		if !ok {
			continue
		}
		scale, _, err := camera.Calibrate(scaleSpec(l, info), seen.line(), seen.reach(), sizes(l, seen.growth(), seen.reach()))
		if err != nil {
			continue
		}
		if lean, u, ok := scale.LeanSeen(); ok {
			low, high, doubt, told = math.Min(low, lean), math.Max(high, lean), math.Max(doubt, u), told+1
		}
	}
	if told < 2 {
		return ""
	}
	return fmt.Sprintf("The lengths of the vehicles in %d launches filmed with this setup make them lean %s the camera, each give or take %.1f (one standard uncertainty).",
		told, leanRange(low, high), doubt*180/math.Pi)
}

// leanRange writes from where to where leans go, low at most high.
func leanRange(low, high float64) string {
	tenths := func(rad float64) float64 { return math.Round(rad*1800/math.Pi)/10 + 0 } // no minus before a zero
	low, high = tenths(low), tenths(high)
	switch {
	case low >= 0:
		return fmt.Sprintf("by %.1f to %.1f degrees away from", low, high)
	case high <= 0:
		return fmt.Sprintf("by %.1f to %.1f degrees towards", -high, -low)
	}
	return fmt.Sprintf("from %.1f degrees towards to %.1f degrees away from", -low, high)
}
