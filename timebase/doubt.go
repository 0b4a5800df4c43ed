package timebase

// Doubt is what is not known of when a place of a picture was exposed, beside its stamp: how the
// rows were read, and for how long they were exposed.
type Doubt struct {
	Scans   []Scan  `json:"scans,omitempty"` // none: a global shutter
	Counted Delay   `json:"counted"`         // the delay that the times have counted already
	Longest float64 `json:"longest"`         // s, longest and shortest exposure possible; equal if it is known
	Least   float64 `json:"least"`
	Half    float64 `json:"half"` // s, the half exposure that the times have counted already
}

// Doubt returns what the base leaves open about pictures filmed as f says.
func (b *Base) Doubt(f Filmed) Doubt {
	d := Doubt{Scans: b.Shutter.Scans(f), Counted: b.Readout.delay(b.Shutter.RowTime), Half: b.Exposure / 2, Longest: b.Exposure, Least: b.Exposure}
	if b.ExposureUnknown {
		d.Least, d.Longest = 0, f.Interval
	}
	return d
}

// Offset is by how much later the middle of the exposure is than the times have it, at the share q
// (0 to 1) of what is possible, s.
func (d Doubt) Offset(q float64) float64 {
	return (d.Least+q*(d.Longest-d.Least))/2 - d.Half
}
