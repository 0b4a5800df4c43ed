package desk

import (
	"fmt"
	"math"
	"math/big"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/timebase"
)

// What launches pull, m/s2 (common practice, no source): heavy motor rockets 2 and more at lift-off, bottles and small ones up to a thousand. Beyond these
// bounds a wrong frame rate or scale is likelier than such a launch.
const (
	slowestLaunch   = 2.0
	quickestLaunch  = 5000.0
	gravityStandard = 9.80665 // m/s2 (CGPM 1901)
)

// implausible warns of a largest acceleration that no launch has: of slowed footage timed by its playback, of a rate or a scale that is not the true one.
func implausible(answers []metrology.Answer) []fault.Warning {
	for _, a := range answers {
		if w := againstGravity(a); w != nil {
			return w
		}
		if a.ID != motion.PeakAcceleration || a.Status != metrology.Measured {
			continue
		}
		pull := fmt.Sprintf("the vehicle pulls %.2g m/s2 at most, %.2g g", *a.Value, *a.Value/gravityStandard)
		switch {
		case a.Interval[0] > 0 && a.Interval[1] < slowestLaunch:
			return []fault.Warning{{Code: "too-slow-for-a-launch", Message: pull +
				": launches pull more; if the footage was slowed, its stamps are playback time: state the true capture rate under [footage.time]; else check the marks' heights and units"}}
		case a.Interval[0] > quickestLaunch:
			return []fault.Warning{{Code: "too-quick-for-a-launch", Message: pull +
				": launches pull less: check the capture rate under [footage.time], and the marks' heights and units"}}
		}
	}
	return nil
}

// offGravity is by how much, relative, a fall must differ from gravity for its time base or scale to be at fault.
const offGravity = 0.15

// againstGravity warns of a free fall that no place on earth has: of a rate or a scale that is not the true one.
func againstGravity(a metrology.Answer) []fault.Warning {
	if a.ID != motion.FreeFallAcceleration || a.Status != metrology.Measured || a.Expected == nil {
		return nil
	}
	g := *a.Expected
	if ratio := *a.Value / g; a.Interval[0] <= g && g <= a.Interval[1] || math.Abs(ratio-1) < offGravity {
		return nil
	}
	return []fault.Warning{{Code: "against-gravity", Message: fmt.Sprintf(
		"free fall comes out at %.3g m/s2 where gravity is %.4g: the rate under [footage.time] would have to be %.3g times as high, or the marks' heights %.3g times as large",
		*a.Value, g, math.Sqrt(g / *a.Value), g / *a.Value)}}
}

// exposureSlack is by how much an exposure may seem longer than the step from frame to frame: both are rounded.
const exposureSlack = 1.05

// withinStep refuses what no camera does: an exposure, or a shutter's way down the rows, that takes longer than the step from frame to frame.
func withinStep(l *logbook.Launch, info footage.Info, b *timebase.Base) error {
	mean := b.MeanStep()
	if b.Hz != nil {
		mean = new(big.Rat).Inv(b.Hz)
	}
	if mean == nil || mean.Sign() <= 0 || b.Basis == timebase.EXIF { // whole seconds say nothing of a step
		return nil
	}
	step, _ := mean.Float64()
	if l.Time.ExposureGiven && l.Time.Exposure > exposureSlack*step {
		return fault.Requestf(`write how long one frame was exposed, as exposure = "1/8000 s", and check the rate`,
			"%s: [footage.time] exposure %.4g ms is longer than the %.4g ms from frame to frame", l.Path, 1e3*l.Time.Exposure, 1e3*step)
	}
	if rows := float64(min(info.Width, info.Height)); math.Abs(l.Time.RowTime.Value)*rows > exposureSlack*step {
		return fault.Requestf(`row_time is from one of the sensor's rows to the next, a few microseconds: row_time = "10 us"`,
			"%s: [footage.time] row_time %.4g ms for each of %.0f rows takes longer than the %.4g ms from frame to frame", l.Path, 1e3*l.Time.RowTime.Value, rows, 1e3*step)
	}
	return nil
}

// ofItsKind refuses a time basis of stills for a clip, and the other way round.
func ofItsKind(l *logbook.Launch, info footage.Info) error {
	stills := info.Kind == footage.Stills
	switch basis := timebase.Basis(l.Time.Basis); {
	case basis == timebase.EXIF && !stills:
		return fault.Requestf(`leave basis out where the clip's own stamps are real time, or state basis = "rate" and the true capture rate`,
			`%s: [footage.time] basis "exif" is for stills, and %s is a clip`, l.Path, l.Footage.Given)
	case basis == timebase.Container && stills:
		return fault.Requestf(`write basis = "exif", or state basis = "rate" and the true capture rate`,
			`%s: [footage.time] basis "container" is for clips, and %s are stills`, l.Path, l.Footage.Given)
	}
	return nil
}
