package footage

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"
)

// captureRate is the rate at which the camera filmed, as phones write it, Hz; 0 where there is none.
func (p *probed) captureRate() float64 {
	for _, tags := range []map[string]string{p.track.Tags, p.format.Tags} {
		for key, text := range tags {
			if !strings.EqualFold(key, "com.android.capture.fps") {
				continue
			}
			if v, err := strconv.ParseFloat(text, 64); err == nil && v > 0 && v < 1e7 {
				return v
			}
		}
	}
	return 0
}

// judgeTimes turns the stamps into seconds and says how far to believe them.
func (c *clip) judgeTimes(p *probed) {
	info := c.info
	info.tick = c.base
	whole, rising := true, true
	for i, v := range c.pts {
		whole = whole && v != noStamp
		rising = rising && (i == 0 || v > c.pts[i-1])
	}
	if whole {
		info.Stamps = make([]*big.Rat, len(c.pts))
		for i, v := range c.pts {
			info.Stamps[i] = new(big.Rat).SetInt64(v)
			info.Stamps[i].Mul(info.Stamps[i], c.base)
		}
	}
	tick, _ := c.base.Float64()
	st := info.steps()
	even := st != nil && st.Smallest == st.Largest
	coarse := strings.Contains(p.format.Name, "matroska")
	if coarse || !even {
		info.StampU = tick / math.Sqrt(12) // rounded to whole ticks: GUM, JCGM 100:2008, 4.3.7
	}
	name := strings.Split(p.format.Name, ",")[0]
	switch {
	case !whole || !rising:
		info.StampsTrusted = false
		info.warn("no-stamps", "some frames carry no time of their own, or do not follow each other in time: give the true capture rate")
	case name == "avi":
		info.StampsTrusted = false
		info.warn("untrusted-stamps", "an AVI file holds no frame times, only a nominal rate: give the true capture rate")
	case slices.Contains([]string{"h264", "hevc", "m4v", "mpegvideo", "mjpeg", "obu", "yuv4mpegpipe"}, name):
		info.StampsTrusted = false
		info.warn("untrusted-stamps", fmt.Sprintf("a bare %s stream holds no frame times: give the true capture rate", name))
	default:
		c.judgeSteps(tick)
	}
	c.judgeSpeed()
}

// judgeSteps warns of stamps that are coarse or uneven.
func (c *clip) judgeSteps(tick float64) {
	s := newSpacing(c.pts)
	if s.typical == 0 {
		return
	}
	step := s.typical * tick
	if share := c.info.StampU / step; share > 0.005 {
		c.info.warn("coarse-stamps", fmt.Sprintf("the file rounds times to %.3g ms, a standard uncertainty of %.1f %% of the step from frame to frame: "+
			"MP4 keeps finer times, or give the true capture rate", 1e3*tick, 100*share))
	}
	if s.gaps > 0 {
		c.info.warn("frames-missing", fmt.Sprintf("the stamps leave room for %d more frames in %d gaps, the longest %.4g ms where %.4g ms is usual: the camera or a program "+
			"dropped frames; the times of the others stand", s.absent, s.gaps, 1e3*s.longest*tick, 1e3*step))
	} else if s.longest-s.shortest > max(1.5, 0.02*s.typical) {
		c.info.warn("variable-rate", fmt.Sprintf("the time from frame to frame varies from %.4g ms to %.4g ms: the stamps are used as they are, and are right "+
			"only if the camera stamped each frame when it was taken", 1e3*s.shortest*tick, 1e3*s.longest*tick))
	}
}

// spacing sums up the steps between stamps, in ticks.
type spacing struct {
	shortest, longest, typical float64 // typical is the median
	gaps, absent               int     // steps that are whole multiples of a steady typical one, and the frames that would fill them
}

func newSpacing(pts []int64) (s spacing) {
	if len(pts) < 2 {
		return s
	}
	steps := make([]float64, len(pts)-1)
	for i := range steps {
		steps[i] = float64(pts[i+1] - pts[i])
	}
	slices.Sort(steps)
	n := len(steps)
	s.shortest, s.longest, s.typical = steps[0], steps[n-1], steps[n/2]
	// Only where nearly all steps are alike does a double step tell a missing frame.
	off := max(1.5, 0.1*s.typical)
	if s.typical <= 0 || s.typical-steps[n/10] > off || steps[n*4/5]-s.typical > off {
		return s
	}
	for _, d := range steps {
		times := math.Round(d / s.typical)
		if times >= 2 && math.Abs(d-times*s.typical) <= off*times {
			s.gaps++
			s.absent += int(min(times-1, maxFrames))
		}
	}
	return s
}

// judgeSpeed tells stamps that are the playback time of slowed footage. A tenth allows for a phone's uneven rate.
func (c *clip) judgeSpeed() {
	info := c.info
	played := info.playRate()
	marks := slowMarks(c.path)
	switch {
	case info.CaptureRate > 0 && played > 0 && math.Abs(info.CaptureRate/played-1) > 0.1:
		info.StampsTrusted = false
		info.warn("slowed", fmt.Sprintf("the camera's tag says %g Hz, the stamps average %.4g Hz: they may be the playback time of slowed footage, "+
			"and every speed would be wrong by the ratio; give the true capture rate", info.CaptureRate, played))
	case marks:
		info.StampsTrusted = false
		info.warn("slowed", "the camera marked this file as slow motion without its rate: the stamps may be playback time, and every speed would be wrong; "+
			"give the true capture rate")
	}
}

// playRate is the mean rate of the stamps, Hz; 0 where there is none.
func (i *Info) playRate() float64 {
	s := i.steps()
	if s == nil || s.Last <= s.First {
		return 0
	}
	return float64(len(i.Stamps)-1) / (s.Last - s.First)
}
