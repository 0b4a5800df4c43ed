package footage

import (
	"context"
	"encoding/json"
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"padside/fault"
)

// probed is the part of ffprobe's answer that is used.
type probed struct {
	Packets []struct {
		PTS   *int64 `json:"pts"`
		Flags string `json:"flags"`
	} `json:"packets"`
	Streams []struct {
		Codec    string            `json:"codec_name"`
		Width    int               `json:"width"`
		Height   int               `json:"height"`
		PixFmt   string            `json:"pix_fmt"`
		TimeBase string            `json:"time_base"`
		Frames   string            `json:"nb_frames"`
		Tags     map[string]string `json:"tags"`
		Side     []struct {
			Rotation float64 `json:"rotation"`
		} `json:"side_data_list"`
	} `json:"streams"`
	Format struct {
		Name  string            `json:"format_name"`
		Start string            `json:"start_time"`
		Tags  map[string]string `json:"tags"`
	} `json:"format"`
}

const decodeHint = "check that the file plays to its end elsewhere; if it does, convert it without changing its frames or times, or export it as stills"

// probe asks ffprobe for the first video track (V: cover pictures do not count) and the stamp
// of each of its packets.
func probe(ctx context.Context, t *tool, path string) (*probed, string, error) {
	out, errs, err := run(ctx, t.ffprobe, "-v", "error", "-protocol_whitelist", "file,pipe",
		"-select_streams", "V:0", "-show_entries",
		"packet=pts,flags:stream=codec_name,width,height,pix_fmt,time_base,nb_frames:stream_tags:stream_side_data=rotation:format=format_name,start_time:format_tags",
		"-of", "json", "-i", "file:"+path)
	if ctx.Err() != nil {
		return nil, "", ctx.Err()
	}
	if err != nil {
		return nil, "", fault.Requestf(decodeHint, "cannot read %s as a clip: %s", path, lastLine(errs))
	}
	var p probed
	if err := json.Unmarshal(out, &p); err != nil {
		return nil, "", fault.Failedf(err, "", "read ffprobe's answer on %s", path)
	}
	if len(p.Streams) == 0 {
		return nil, "", fault.Requestf("give a clip with a picture in it", "%s has no video track", path)
	}
	s := p.Streams[0]
	if s.Width <= 0 || s.Height <= 0 || s.Codec == "" || s.PixFmt == "" || s.PixFmt == "unknown" {
		return nil, "", fault.Requestf(decodeHint, "the video track of %s cannot be decoded", path)
	}
	return &p, string(errs), nil
}

// fastIndex is the sorted stamps of the packets that are shown: a packet flagged D lies outside
// the edit list. It reports false where packets do not tell the frames (no stamp, or one twice).
func fastIndex(p *probed) ([]int64, bool) {
	var pts []int64
	for _, k := range p.Packets {
		if strings.Contains(k.Flags, "D") {
			continue
		}
		if k.PTS == nil {
			return nil, false
		}
		pts = append(pts, *k.PTS)
	}
	slices.Sort(pts)
	n := len(pts)
	return pts, n > 0 && len(slices.Compact(slices.Clone(pts))) == n
}

// turn is the clockwise rotation for display, degrees, which ffprobe gives anticlockwise, and
// whether it is a quarter turn.
func turn(p *probed) (int, bool) {
	for _, s := range p.Streams[0].Side {
		if s.Rotation != 0 {
			q := math.Round(-s.Rotation / 90)
			return ((int(q)*90)%360 + 360) % 360, math.Abs(-s.Rotation-q*90) < 1
		}
	}
	return 0, true
}

// captureTag is the rate at which the camera filmed, as phones write it (Hz).
func captureTag(p *probed) float64 {
	for _, tags := range []map[string]string{p.Streams[0].Tags, p.Format.Tags} {
		if v, err := strconv.ParseFloat(tags["com.android.capture.fps"], 64); err == nil && v > 0 && v < 1e7 {
			return v
		}
	}
	return 0
}

// rational reads "N/D" with D and N positive.
func rational(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok || r.Sign() <= 0 {
		return nil
	}
	return r
}
