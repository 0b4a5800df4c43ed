package footage

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"
	"sync"

	"padside/fault"
)

// clip decodes one video file.
type clip struct {
	tool   *tool
	path   string
	pts    []int64 // of each frame, in units of base
	base   *big.Rat
	start  *big.Rat // s, the container's start, from which ffmpeg counts its -ss
	info   *Info
	luma   lumaPath
	seeks  bool // stamps are good enough to seek by
	frames sync.Pool
}

// checked is how many first frames are decoded on opening, to see that the index tells the truth.
const checked = 8

// openClip indexes a clip.
func openClip(ctx context.Context, path string, o Options) (*clip, *Info, error) {
	t, err := findTool(ctx, o.FFmpeg)
	if err != nil {
		return nil, nil, err
	}
	p, complaints, err := probe(ctx, t, path)
	if err != nil {
		return nil, nil, err
	}
	s := p.Streams[0]
	info := &Info{Path: path, Kind: Clip, Codec: s.Codec, Container: p.Format.Name, FFmpeg: t.version,
		Depth: lumaOf(s.PixFmt).depth, StampsTrusted: true, Complete: true, CaptureRate: captureTag(p)}
	c := &clip{tool: t, path: path, base: rational(s.TimeBase), info: info, luma: lumaOf(s.PixFmt)}
	if c.base == nil {
		return nil, nil, fault.Requestf(decodeHint, "%s states no time base", path)
	}
	if c.start, _ = new(big.Rat).SetString(p.Format.Start); c.start == nil {
		c.start = new(big.Rat)
	}
	if err := c.index(ctx, p, complaints); err != nil {
		return nil, nil, err
	}
	c.setSize(p, o)
	c.judgeTimes(p)
	if c.luma.derived {
		info.warn("no-brightness-plane", "the clip stores red, green and blue: brightness is computed from them, which costs time and nothing else")
	}
	return c, info, nil
}

// index finds the stamp of every frame: from the packets where these are whole and agree with
// the first decoded frames, else by decoding everything.
func (c *clip) index(ctx context.Context, p *probed, complaints string) error {
	avi := strings.Contains(p.Format.Name, "avi")
	stated, err := strconv.Atoi(p.Streams[0].Frames)
	short := err == nil && !avi && stated > len(p.Packets)
	pts, sure := fastIndex(p)
	head, faults, err := scan(ctx, c.tool, c.path, checked)
	if err != nil {
		return fault.Failedf(err, decodeHint, "decode %s", c.path)
	}
	if len(head) == 0 {
		why := "no frame came out"
		if len(faults) > 0 {
			why = faults[len(faults)-1]
		}
		return fault.Requestf(decodeHint, "cannot decode %s: %s", c.path, why)
	}
	n := min(len(head), len(pts))
	agree := n == min(checked, len(pts)) && slices.Equal(head[:n], pts[:n])
	c.seeks = true
	if !sure || !agree || short || avi || complaints != "" {
		c.seeks = false
		var faults []string
		if pts, faults, err = scan(ctx, c.tool, c.path, 0); err != nil {
			return fault.Failedf(err, decodeHint, "decode %s", c.path)
		}
		// AVI counts places in time, some of them empty: what tells is whether the last is reached.
		short = short || len(faults) > 0 || avi && len(pts) > 0 && slices.Max(pts)+2 < int64(stated)
	}
	c.pts, c.info.Frames, c.info.Complete = pts, len(pts), !short
	if short {
		of := ""
		if stated > len(pts) {
			of = fmt.Sprintf(" of %d", stated)
		}
		c.info.warn("incomplete", fmt.Sprintf("the file is damaged or ends early: %d frames%s can be decoded, and the last may be spoilt; copy it from the camera again", len(pts), of))
	}
	return nil
}

// setSize works out rotation and size.
func (c *clip) setSize(p *probed, o Options) {
	own, square := turn(p)
	if !square {
		c.info.warn("odd-rotation", "the file asks for a rotation that is no quarter turn: it was rounded to one")
	}
	c.info.Rotation = (own + o.turn()) % 360
	c.info.Width, c.info.Height = p.Streams[0].Width, p.Streams[0].Height
	if c.info.Rotation%180 != 0 {
		c.info.Width, c.info.Height = c.info.Height, c.info.Width
	}
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
		for _, v := range c.pts {
			info.Stamps = append(info.Stamps, new(big.Rat).Mul(c.base, new(big.Rat).SetInt64(v)))
		}
	}
	tick, _ := c.base.Float64()
	st := info.steps()
	even := st != nil && st.Smallest == st.Largest
	matroska := strings.Contains(p.Format.Name, "matroska")
	if matroska || !even {
		info.StampU = tick / math.Sqrt(12) // rounded to whole ticks: GUM, JCGM 100:2008, 4.3.7
	}
	switch {
	case !whole || !rising:
		info.StampsTrusted = false
		info.warn("no-stamps", "some frames carry no time of their own, or do not follow each other in time: give the true capture rate")
	case strings.Contains(p.Format.Name, "avi"):
		info.StampsTrusted = false
		info.warn("untrusted-stamps", "an AVI file holds no frame times, only a nominal rate: give the true capture rate")
	}
	played := info.playRate()
	if info.CaptureRate > 0 && played > 0 && math.Abs(info.CaptureRate/played-1) > 0.1 {
		info.StampsTrusted = false
		info.warn("slowed", fmt.Sprintf("the camera's tag says %g Hz, the stamps average %.4g Hz: they may be the playback time of slowed footage, and every speed would be wrong by the ratio; give the true capture rate", info.CaptureRate, played))
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

// turnFilter is the ffmpeg filter that turns clockwise by the given degrees.
func turnFilter(degrees int) string {
	return map[int]string{90: "transpose=clock", 180: "hflip,vflip", 270: "transpose=cclock"}[degrees]
}

// lumaPass is how brightness is decoded.
func (c *clip) lumaPass() pass {
	format := "gray"
	if c.info.Depth > 8 {
		format = fmt.Sprintf("gray%dle", c.info.Depth)
	}
	return pass{filter: joined(c.luma.filters, turnFilter(c.info.Rotation)), format: format}
}

// joined is a chain of filters and a last one, which may be empty.
func joined(filters []string, last string) string {
	if last == "" {
		return strings.Join(filters, ",")
	}
	return strings.Join(append(slices.Clone(filters), last), ",")
}

// begin starts decoding so that frame from comes next, and returns how many frames to skip.
func (c *clip) begin(ctx context.Context, p pass, from, to int, seek bool) (*decoding, int, error) {
	skip := from
	p.limit = to
	if seek && from > 0 {
		// Half a frame early, and counted from the container's start.
		at := new(big.Rat).Add(c.info.Stamps[from], c.info.Stamps[from-1])
		at.Quo(at, big.NewRat(2, 1)).Sub(at, c.start)
		if at.Sign() > 0 {
			p.seek, skip = at.FloatString(6), 0
			if to > 0 {
				p.limit = to - from
			}
		}
	}
	d, err := decode(ctx, c.tool, c.path, p)
	return d, skip, err
}

var errStray = errors.New("the frame's stamp is not the one in the index")

// raw decodes frames from..to-1. For each, room returns where its bytes are to go, and take is told when they are there.
func (c *clip) raw(ctx context.Context, p pass, from, to int, room func() []byte, take func(i int) error) error {
	err := c.rawOnce(ctx, p, from, to, c.seeks, room, take)
	if errors.Is(err, errStray) { // seeking missed: nothing was taken yet
		err = c.rawOnce(ctx, p, from, to, false, room, take)
	}
	return err
}

func (c *clip) rawOnce(ctx context.Context, p pass, from, to int, seek bool, room func() []byte, take func(i int) error) error {
	d, skip, err := c.begin(ctx, p, from, to, seek)
	if err != nil {
		return fault.Failedf(err, installHint, "start ffmpeg")
	}
	defer d.stop()
	var buf []byte
	for i := from - skip; i < to; i++ {
		if buf == nil || i > from {
			buf = room()
		}
		pts, err := d.next(buf)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if i == from && seek && skip == 0 && from > 0 && (err != nil || pts != c.pts[i]) {
			return errStray // before anything was taken
		}
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			return fault.Requestf(decodeHint, "decoding %s ended at frame %d of %d", c.path, i, len(c.pts))
		}
		if err != nil {
			return fault.Failedf(err, decodeHint, "decode frame %d of %s", i, c.path)
		}
		if pts != c.pts[i] {
			return fault.Requestf(decodeHint, "frame %d of %s came with another time than its index says: frames are missing", i, c.path)
		}
		if i < from {
			continue
		}
		if err := take(i); err != nil {
			return err
		}
	}
	return nil
}

// read implements source.
func (c *clip) read(ctx context.Context, from, to int, give func(Frame) error) error {
	var l *Luma
	var wide []byte // of samples deeper than 8 bits; others go from the decoder's pipe to where they stay
	room := func() []byte {
		l = newLuma(&c.frames, c.info.Width, c.info.Height, c.info.Depth)
		if l.Pix8 != nil {
			return l.Pix8
		}
		if wide == nil {
			wide = make([]byte, 2*len(l.Pix16))
		}
		return wide
	}
	return c.raw(ctx, c.lumaPass(), from, to, room, func(i int) error {
		if l.Pix16 != nil {
			l.take(wide)
		}
		return give(Frame{Index: i, Luma: l, pool: &c.frames})
	})
}

// picture implements source.
func (c *clip) picture(ctx context.Context, i int) (image.Image, error) {
	m := image.NewNRGBA(image.Rect(0, 0, c.info.Width, c.info.Height))
	p := pass{filter: turnFilter(c.info.Rotation), format: "rgba"}
	err := c.raw(ctx, p, i, i+1, func() []byte { return m.Pix }, func(int) error { return nil })
	return m, err
}

// files implements source.
func (c *clip) files() []string { return []string{c.path} }
