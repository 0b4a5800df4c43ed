package footage

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"padside/fault"
)

// fastIndex is the sorted stamps of the packets that are shown: a packet flagged D lies outside the edit list. It reports false
// where packets do not tell the frames: no stamp, one twice, or damage.
func fastIndex(packets []packet) ([]int64, bool) {
	pts := make([]int64, 0, len(packets))
	for _, k := range packets {
		if k.out {
			continue
		}
		if k.pts == noStamp || k.bad {
			return nil, false
		}
		pts = append(pts, k.pts)
	}
	slices.Sort(pts)
	n := len(pts)
	return pts, n > 0 && len(slices.Compact(slices.Clone(pts))) == n
}

// checked is how many first frames are decoded on opening, to see that the index tells the truth.
const checked = 8

// head is what decoding the first frames showed.
type head struct {
	scanned
	err error
}

// index finds the stamp of every frame: from the packets where these are whole and agree with the first decoded frames, else
// by decoding everything.
func (c *clip) index(ctx context.Context, p *probed, first head) error {
	avi := strings.Contains(p.format.Name, "avi")
	stated, err := strconv.Atoi(p.track.Frames)
	short := err == nil && !avi && stated > len(p.packets)
	if first.err != nil {
		return first.err
	}
	if len(first.pts) == 0 {
		why := "no frame came out"
		if len(first.faults) > 0 {
			why = lastWords(first.faults[len(first.faults)-1], c.path)
		}
		return fault.Requestf(decodeHint, "cannot decode %s (%s): %s", c.path, p.track.Codec, why)
	}
	pts, sure := fastIndex(p.packets)
	n := min(len(first.pts), len(pts))
	agree := n == min(checked, len(pts)) && slices.Equal(first.pts[:n], pts[:n])
	c.pts = pts
	// VP8 has packets that show nothing, program streams may begin in mid-picture.
	doubtful := p.track.Codec == "vp8" || strings.HasPrefix(p.format.Name, "mpeg")
	sure = sure && agree && !avi && !doubtful
	if sure && !short && p.complain == "" {
		return nil
	}
	all, err := scan(ctx, c.tool, c.path, 0)
	if err != nil {
		return err
	}
	if len(all.pts) == 0 {
		return fault.Requestf(decodeHint, "cannot decode %s (%s): no frame came out", c.path, p.track.Codec)
	}
	got, last := c.count(all.pts)
	of := max(stated, len(pts))
	if sure && got == len(all.pts) { // damage: the packets still number the frames, missing ones included
		c.pts = pts[:last+1]
	} else {
		c.pts, c.counted = all.pts, true
		got = len(all.pts)
		of = max(stated, got)
	}
	c.verified = true
	// AVI counts places in time, some of them empty: what tells is whether the last is reached.
	short = short || avi && slices.Max(all.pts)+2 < int64(stated)
	if short || got < of && !avi && sure || len(all.faults) > 0 {
		c.info.damaged(got, of, all.faults)
	}
	return nil
}

// keyFrames are the indices of the frames whose packets are marked so; nil where the packets do not number the frames.
func (c *clip) keyFrames(packets []packet) []int {
	if c.counted {
		return nil
	}
	var keys []int
	for _, k := range packets {
		if !k.key || k.out {
			continue
		}
		if i, ok := slices.BinarySearch(c.pts, k.pts); ok {
			keys = append(keys, i)
		}
	}
	slices.Sort(keys)
	return keys
}

// stored are the indices of the frames whose packets come after that of a later frame: they are predicted from both sides. It is nil where the packets do
// not number the frames.
func (c *clip) stored(packets []packet) []int {
	if c.counted {
		return nil
	}
	var after []int
	last := int64(noStamp)
	for _, k := range packets {
		if k.pts == noStamp {
			continue
		}
		if i, ok := slices.BinarySearch(c.pts, k.pts); ok && last != noStamp && k.pts < last && !k.out {
			after = append(after, i)
		}
		if last == noStamp || k.pts > last {
			last = k.pts
		}
	}
	slices.Sort(after)
	return after
}

// count is how many of the decoded frames the index knows, and the last of these; -1 where there is none.
func (c *clip) count(decoded []int64) (got, last int) {
	next := 0
	for _, v := range decoded {
		if i := c.place(v, next); i >= 0 {
			next, got = i+1, got+1
		}
	}
	return got, next - 1
}

// damaged notes that not every frame could be read, or only in part. It replaces an earlier note of less damage.
func (i *Info) damaged(got, of int, faults []string) {
	if !i.Complete && got > i.readable {
		return
	}
	i.readable = got
	text := fmt.Sprintf("the file is damaged or ends early: %d of %d frames can be decoded", got, of)
	if got >= of {
		text = fmt.Sprintf("the file is damaged or ends early: %d frames come out, and parts of some are made up", got)
	}
	if len(faults) > 0 {
		text += fmt.Sprintf(" (%s)", lastWords(faults[0], i.Path))
	}
	i.Complete = false
	i.Warnings = slices.DeleteFunc(slices.Clone(i.Warnings), func(w fault.Warning) bool { return w.Code == "incomplete" })
	i.warn("incomplete", text+"; copy it from the camera again, or measure within its good part")
}
