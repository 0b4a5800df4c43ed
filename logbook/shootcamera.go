package logbook

import (
	"fmt"

	"padside/shoot"
	"padside/units"
)

// shootCamera reads one camera with its modes.
func (r *reader) shootCamera(t *table, s *shoot.Shoot) {
	r.known(t, "a [[camera]]", "name", "pixel_pitch", "modes", "readout", "exposure", "iso", "memory_frames", "burst", "lens", "shutter", "row_time")
	c := shoot.Camera{Name: r.text(t, "name"), PixelPitch: r.must(t, "pixel_pitch", units.Length, "a [[camera]]"), Memory: r.whole(t, "memory_frames", 0)}
	if c.Name == "" {
		c.Name = fmt.Sprintf("camera %d", len(s.Cameras)+1)
	}
	if c.Memory < 0 {
		r.fail(t.get("memory_frames").line, "give how many frames it holds, or leave it out", "memory_frames is below zero")
	}
	c.Shortest, c.Longest = 1./8000, 1
	if e := r.section(t, "exposure"); e != nil {
		r.known(e, "exposure", "shortest", "longest")
		c.Shortest, c.Longest = r.must(e, "shortest", units.Time, "exposure"), r.must(e, "longest", units.Time, "exposure")
		if c.Shortest > c.Longest {
			r.fail(e.line, `write exposure = { shortest = "5 us", longest = "1/100 s" }`, "the shortest exposure is longer than the longest")
		}
	}
	c.LowestISO, c.HighestISO = 100, 3200
	if e := r.section(t, "iso"); e != nil {
		r.known(e, "iso", "lowest", "highest")
		c.LowestISO, c.HighestISO = r.above(e, "lowest", 0, "lowest = 100"), r.above(e, "highest", 0, "highest = 3200")
		if c.LowestISO > c.HighestISO {
			r.fail(e.line, "write iso = { lowest = 500, highest = 8000 }", "the lowest ISO is higher than the highest")
		}
	}
	if e := r.section(t, "lens"); e != nil {
		lens := r.lens(e, "lens")
		c.Lens = &lens
	}
	r.shootShutter(t, &c)
	burst := 0.
	if b := r.section(t, "burst"); b != nil {
		r.known(b, "burst", "rate", "frames", "shutter_lag")
		burst = r.must(b, "rate", units.Frequency, "burst")
		lag, _ := r.quantity(b, "shutter_lag", units.Time)
		c.Burst = &shoot.Burst{Frames: r.whole(b, "frames", 0), Lag: lag.Value}
		if c.Burst.Frames < 1 {
			r.fail(b.line, `write burst = { rate = "10 Hz", frames = 60, shutter_lag = "55 ms" }`, "a burst needs frames: how many one press takes at most")
		}
	}
	for _, m := range r.tables(t, "modes", `modes = [ { width = 1920, height = 1080, rate = "1000 Hz" } ]`) {
		c.Modes = append(c.Modes, r.mode(m, burst))
	}
	if b := r.section(t, "readout"); b != nil {
		c.Modes = append(c.Modes, r.readout(b)...)
	}
	if len(c.Modes) == 0 {
		r.fail(t.line, `add modes = [ { width = 1920, height = 1080, rate = "1000 Hz" } ]`, "%s has no modes", c.Name)
	}
	s.Cameras = append(s.Cameras, c)
}

// shootShutter reads whether a camera takes its rows at once.
func (r *reader) shootShutter(t *table, c *shoot.Camera) {
	c.Shutter = r.text(t, "shutter")
	if v := t.get("shutter"); v != nil && c.Shutter != shoot.Global && c.Shutter != shoot.Rolling {
		r.fail(v.line, `write shutter = "global" or shutter = "rolling", or leave it out where it is not known`, "there is no shutter %q", c.Shutter)
	}
	c.RowTime = r.measured(t, "row_time", units.Time)
	v := t.get("row_time")
	switch {
	case v == nil:
	case c.RowTime.Value < 0:
		r.fail(v.line, `write row_time = "10 us"`, "a row_time below zero")
	case c.Shutter == shoot.Global && c.RowTime.Value > 0:
		r.fail(v.line, "leave row_time out, or shutter", "a global shutter has no row_time")
	}
}

// mode reads one picture size; burst is the rate of a camera of stills, which need not be repeated.
func (r *reader) mode(t *table, burst float64) shoot.Mode {
	r.known(t, "a mode", "width", "height", "rate")
	m := shoot.Mode{Width: r.side(t, "width"), Height: r.side(t, "height"), Rate: burst}
	if t.get("rate") != nil || burst == 0 {
		m.Rate = r.must(t, "rate", units.Frequency, "a mode")
	}
	return m
}

// side reads how many pixels a side has.
func (r *reader) side(t *table, key string) int {
	n := r.whole(t, key, 0)
	if n < 16 || n > 100_000 {
		r.fail(t.line, "write { width = 1920, height = 1080 }, in pixels", "a picture with %s %d cannot be planned", key, n)
	}
	return n
}

// readout reads the modes that a sensor's line time gives.
func (r *reader) readout(t *table) []shoot.Mode {
	const example = `readout = { width = 1920, known = [ { rows = 1080, rate = "1000 Hz" }, { rows = 570, rate = "1884 Hz" } ], rows = [ 720, 400 ] }`
	r.known(t, "readout", "width", "known", "rows")
	width := r.side(t, "width")
	var known []shoot.Timed
	for _, k := range r.tables(t, "known", example) {
		r.known(k, "readout.known", "rows", "rate")
		known = append(known, shoot.Timed{Rows: r.side(k, "rows"), Rate: r.must(k, "rate", units.Frequency, "readout.known")})
	}
	if r.err != nil {
		return nil
	}
	model, err := shoot.NewReadout(known)
	if err != nil {
		r.fail(t.line, "write "+example, "readout: %v", err)
		return nil
	}
	var out []shoot.Mode
	for _, v := range r.list(t, "rows", example) {
		x, _ := r.finite(v, "rows")
		hz, ok := model.Rate(int(x))
		if x < 16 || x != float64(int(x)) || !ok {
			r.fail(v.line, "write "+example, "a picture of %g rows cannot be planned", x)
			return nil
		}
		out = append(out, shoot.Mode{Width: width, Height: int(x), Rate: hz})
	}
	return out
}
