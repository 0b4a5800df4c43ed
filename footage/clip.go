package footage

import (
	"context"
	"fmt"
	"math/big"

	"padside/fault"
	"padside/guard"
)

// clip decodes one video file. It does not change once it is open.
type clip struct {
	tool                 *tool
	path                 string
	pts                  []int64 // of each frame, in units of base
	between              []int   // frames stored after a later one; nil where that is not known
	keys                 []int   // frames with which decoding may begin, as the container marks them; nil where that is not known
	counted              bool    // pts were had by decoding: the nth frame decoded is the nth here, whatever its stamp
	verified             bool    // all of it was decoded on opening
	base                 *big.Rat
	start                *big.Rat // s, the container's start, from which ffmpeg counts its -ss
	width, height, depth int      // upright
	lay                  orientation
	luma                 lumaPath
	pool                 *pool
	quick                bool                // see Options.Quick
	info                 *Info               // while opening
	amend                func(func(i *Info)) // afterwards: notes what only reading shows
}

// openClip indexes a clip. Its header and its first frames are read at the same time.
func openClip(ctx context.Context, path string, o Options) (*clip, *Info, error) {
	t, err := findTool(o.FFmpeg)
	if err != nil {
		return nil, nil, err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var first head
	seen := guard.Go(func() error {
		first.scanned, first.err = scan(ctx, t, path, checked)
		return nil
	})
	p, err := probe(ctx, t, path)
	if err != nil {
		cancel()
		<-seen
		return nil, nil, err
	}
	if err := <-seen; err != nil {
		return nil, nil, err
	}
	s := &p.track
	info := &Info{Path: path, Kind: Clip, Codec: s.Codec, Container: p.format.Name, FFmpeg: t.version,
		Depth: lumaOf(s.PixFmt).depth, StampsTrusted: true, Complete: true, CaptureRate: p.captureRate()}
	c := &clip{tool: t, path: path, base: rational(s.TimeBase), start: p.format.start(), info: info, luma: lumaOf(s.PixFmt), depth: info.Depth, quick: o.Quick}
	if c.base == nil {
		return nil, nil, fault.Requestf(decodeHint, "%s states no time base", path)
	}
	if err := c.index(ctx, p, first); err != nil {
		return nil, nil, err
	}
	info.Frames = len(c.pts)
	c.keys, c.between = c.keyFrames(p.packets), c.stored(p.packets)
	c.setSize(s, o)
	c.judgePicture(p, first.woven)
	c.judgeTimes(p)
	c.info = nil
	return c, info, nil
}

// setSize works out orientation and size.
func (c *clip) setSize(s *track, o Options) {
	own, exact := s.upright()
	if !exact {
		c.info.warn("odd-rotation", "the file asks for a rotation that is no quarter turn: it was rounded to one")
	}
	c.lay = own.turned(o.turn())
	c.width, c.height = c.lay.size(s.Width, s.Height)
	c.pool = newPool(c.width, c.height, c.depth)
	c.info.Rotation, c.info.Mirrored, c.info.Width, c.info.Height = c.lay.degrees(), c.lay.mirror, c.width, c.height
}

// judgePicture warns of what the picture is not.
func (c *clip) judgePicture(p *probed, woven bool) {
	if c.luma.derived {
		c.info.warn("no-brightness-plane", "the clip stores red, green and blue: brightness is computed from them, which costs time and nothing else")
	}
	switch p.track.FieldOrder {
	case "tt", "bb", "tb", "bt":
		woven = true
	}
	if woven {
		c.info.warn("interlaced", "each frame is woven from two instants, odd rows and even rows: what moves is torn, and its place is uncertain "+
			"by half a frame's motion; film in a progressive mode")
	}
	if p.tracks > 1 {
		c.info.warn("several-videos", fmt.Sprintf("the clip holds %d video tracks: the first is used", p.tracks))
	}
}

// files implements source.
func (c *clip) files() []string { return []string{c.path} }
