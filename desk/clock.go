package desk

import (
	"padside/footage"
	"padside/logbook"
	"padside/timebase"
)

// clock is what is known of the times of footage beside the times themselves. It is kept with a
// launch, so that it can be answered again without following it again.
type clock struct {
	StampU  float64        `json:"stamp_u"`            // s, standard uncertainty of each time alone
	StampUs []float64      `json:"stamp_us,omitempty"` // s, that of each frame's time where they differ
	RateU   float64        `json:"rate_u"`             // relative, common to all times
	Doubt   timebase.Doubt `json:"doubt"`              // of when the rows of a picture were exposed
	// Unstated is what would be possible of the shutter if nothing were stated of it; nil if
	// nothing is.
	Unstated []timebase.Scan `json:"unstated,omitempty"`
	// Strays are the even times of the frames less their stamps, s, where the stamps may stray;
	// StrayU is what they are uncertain by together, s.
	Strays []float64 `json:"strays,omitempty"`
	StrayU float64   `json:"stray_u,omitempty"`
	// Played is the clip's rate, Hz, if its stamps may be those of a slowed playback; else 0.
	Played float64 `json:"played,omitempty"`
	// Interval is the frame interval, s, of footage in which frames may be lost unseen; else 0.
	Interval float64 `json:"interval,omitempty"`
}

// clock says it of footage that was followed, the exposure as far as the pictures' blur tells it.
func (f *followed) clock(l *logbook.Launch) clock {
	b, filmed := f.base, filmedAs(f.info, f.base)
	c := clock{StampU: b.StampU, StampUs: b.StampUs, RateU: b.RateU, Doubt: b.Doubt(filmed),
		Played: unvouched(l, f.info, b), Interval: slippable(b)}
	c.Strays, c.StrayU = strays(b)
	if e := f.seen.Exposure; e.Seen && (!e.Given || e.Contrary) {
		c.Doubt.Least, c.Doubt.Longest = e.Least, e.Most
	}
	if b.Shutter.Kind != timebase.Unknown {
		c.Unstated = timebase.Shutter{}.Scans(filmed)
	}
	return c
}

// stampU is the standard uncertainty of a frame's time alone, s.
func (c *clock) stampU(frame int) float64 {
	if frame < len(c.StampUs) {
		return c.StampUs[frame]
	}
	return c.StampU
}

// stray is the even time of a frame less its stamp, s.
func (c *clock) stray(frame int) float64 {
	if frame < len(c.Strays) {
		return c.Strays[frame]
	}
	return 0
}

// filmedAs is what the shutter of the camera can be judged by where nobody stated it.
func filmedAs(info footage.Info, b *timebase.Base) timebase.Filmed {
	f := timebase.Filmed{Width: info.Width, Height: info.Height, Readout: info.Readout(),
		Turned: info.Rotation != 0 || info.Mirrored, Stills: info.Kind == footage.Stills}
	if step, _ := b.Steps(); step != nil {
		f.Interval, _ = step.Float64()
	}
	return f
}

// exposureStated says whether the launch file or the pictures' own tags state the exposure.
func exposureStated(l *logbook.Launch, info footage.Info) bool {
	return l.Time.ExposureGiven || info.Exposure > 0
}

// slippable is the frame interval of footage whose stamps go on evenly, s: a frame that the camera
// lost shows in none of them. 0 of footage whose stamps are each picture's own.
func slippable(b *timebase.Base) float64 {
	if b.Basis != timebase.Rate && b.Basis != timebase.Container || !b.Constant() {
		return 0
	}
	step, _ := b.MeanStep().Float64()
	return step
}

// strays are the even times of the frames less their stamps, and what they are uncertain by
// together, s; nil where the stamps are taken as they are.
func strays(b *timebase.Base) (each []float64, u float64) {
	even := b.EvenTimes()
	if even == nil {
		return nil, 0
	}
	for i, t := range even.Times {
		stamp, _ := b.Stamps[i].Float64()
		each = append(each, t-stamp)
	}
	return each, even.U
}
