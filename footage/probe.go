package footage

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/big"
	"strconv"
	"strings"

	"padside/fault"
)

// probed is the part of ffprobe's answer that is used.
type probed struct {
	track    track
	tracks   int // video tracks that are no cover pictures
	packets  []packet
	format   container
	complain string
}

// packet is one coded frame as stored; pts is noStamp where it has none.
type packet struct {
	pts int64
	out bool // lies outside the edit list: decoded, not shown
	bad bool // the container marks it as damaged
	key bool // decoding may begin with it
}

type track struct {
	Codec      string            `json:"codec_name"`
	CodecTag   string            `json:"codec_tag_string"`
	Width      int               `json:"width"`
	Height     int               `json:"height"`
	PixFmt     string            `json:"pix_fmt"`
	FieldOrder string            `json:"field_order"`
	TimeBase   string            `json:"time_base"`
	Frames     string            `json:"nb_frames"`
	Tags       map[string]string `json:"tags"`
	Side       []struct {
		Matrix string `json:"displaymatrix"`
	} `json:"side_data_list"`
}

type container struct {
	Name  string            `json:"format_name"`
	Start string            `json:"start_time"`
	Tags  map[string]string `json:"tags"`
}

const decodeHint = "check that the file plays to its end elsewhere; if it does, convert it without changing its frames or times, or export it as stills"

const entries = "packet=pts,flags:stream=codec_name,codec_tag_string,width,height,pix_fmt,field_order,time_base,nb_frames:stream_tags:" +
	"stream_side_data=displaymatrix:format=format_name,start_time:format_tags"

// probe asks ffprobe, in one run, for the first video track (V: cover pictures do not count), the stamp of each of its packets
// and the container.
func probe(ctx context.Context, t *tool, path string) (*probed, error) {
	p := &probed{}
	err := p.ask(ctx, t, path, "V:0", entries)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	var told *fault.Error
	if errors.As(err, &told) {
		return nil, err
	}
	if err != nil && strings.Contains(p.complain, "moov atom not found") {
		return nil, fault.Requestf("copy it from the camera again; if it is the same there, put the card back and let the camera repair it",
			"%s ends before the index of its frames: it was cut off while it was written or copied", path)
	}
	if err != nil {
		e := fault.Requestf(decodeHint, "cannot read %s as a clip: %s", path, lastWords(p.complain, path))
		e.Cause = err
		return nil, e
	}
	if p.tracks == 0 {
		return nil, noVideo(ctx, t, path)
	}
	return p, p.track.refused(path)
}

// noVideo says what the file holds instead.
func noVideo(ctx context.Context, t *tool, path string) error {
	var sound probed
	holds := "nothing that shows a picture"
	if err := sound.ask(ctx, t, path, "a:0", "stream=codec_name"); err == nil && sound.tracks > 0 {
		holds = "only sound"
	}
	return fault.Requestf("give the clip that holds the picture", "%s has no video track: it holds %s", path, holds)
}

// refused says why a track cannot be decoded, as far as its header tells.
func (s *track) refused(path string) error {
	_, keyed := s.Tags["enc_key_id"]
	switch {
	case keyed || s.CodecTag == "encv" || s.CodecTag == "drmi":
		return fault.Requestf("give a copy without protection, exported by the camera or the app that made it", "%s is encrypted", path)
	case s.Codec == "" || s.Codec == "none" || s.Codec == "unknown":
		return fault.Requestf("convert it to H.264, or install a fuller ffmpeg", "%s is coded in a way this ffmpeg does not know (%s)", path, printable(s.CodecTag))
	case s.PixFmt == "" || s.PixFmt == "unknown":
		return fault.Requestf(decodeHint, "the video track of %s (%s) cannot be decoded", path, s.Codec)
	}
	return checkSize(path, s.Width, s.Height)
}

// ask runs ffprobe and reads its answer as it comes.
func (p *probed) ask(ctx context.Context, t *tool, path, tracks, entries string) error {
	w := watch(ctx, stall)
	defer w.stop()
	args := append([]string{"-v", "error", "-select_streams", tracks, "-show_entries", entries, "-of", "json"}, input(path)...)
	cmd := command(w.ctx, t.ffprobe, args...)
	complain := &capped{most: maxComplain}
	cmd.Stderr = complain
	out, err := cmd.StdoutPipe()
	if err != nil {
		return fmt.Errorf("open pipe from ffprobe: %w", err)
	}
	if err := cmd.Start(); err != nil {
		return missing(err, t.ffprobe)
	}
	err = p.parse(json.NewDecoder(io.LimitReader(w.watched(out), maxAnswer)))
	if err != nil {
		w.stop()
	}
	ended := cmd.Wait()
	p.complain = string(complain.kept)
	if w.hung() {
		return hung(t.ffprobe, path)
	}
	var told *fault.Error
	if errors.As(err, &told) || ended == nil {
		return err
	}
	return ended
}

// parse reads the answer without ever holding all of its text.
func (p *probed) parse(d *json.Decoder) error {
	if _, err := d.Token(); err != nil { // {
		return err
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return err
		}
		switch key {
		case "packets":
			err = each(d, func() error { return p.addPacket(d) })
		case "streams":
			err = each(d, func() error { p.tracks++; return d.Decode(&p.track) })
		case "format":
			err = d.Decode(&p.format)
		default:
			err = d.Decode(new(any))
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// each calls read for every element of an array.
func each(d *json.Decoder, read func() error) error {
	if _, err := d.Token(); err != nil { // [
		return err
	}
	for d.More() {
		if err := read(); err != nil {
			return err
		}
	}
	_, err := d.Token() // ]
	return err
}

func (p *probed) addPacket(d *json.Decoder) error {
	var k struct {
		PTS   *int64 `json:"pts"`
		Flags string `json:"flags"`
	}
	if err := d.Decode(&k); err != nil {
		return err
	}
	if len(p.packets) == maxFrames {
		return fault.Requestf("cut it to the flight", "the clip holds more than the %d frames that are read", maxFrames)
	}
	q := packet{pts: noStamp, out: strings.Contains(k.Flags, "D"), bad: strings.Contains(k.Flags, "C"), key: strings.Contains(k.Flags, "K")}
	if k.PTS != nil {
		q.pts = *k.PTS
	}
	p.packets = append(p.packets, q)
	return nil
}

// upright is the orientation the container asks for; exact is false where that is no quarter turn.
func (s *track) upright() (o orientation, exact bool) {
	for _, d := range s.Side {
		if d.Matrix != "" {
			return parseMatrix(d.Matrix)
		}
	}
	return orientation{}, true
}

// parseMatrix reads ffprobe's print of a display matrix: three lines "0000000n: a b u".
func parseMatrix(text string) (orientation, bool) {
	var v []float64
	for line := range strings.SplitSeq(strings.TrimSpace(text), "\n") {
		_, numbers, ok := strings.Cut(line, ":")
		if !ok {
			return orientation{}, false
		}
		for f := range strings.FieldsSeq(numbers) {
			x, err := strconv.ParseFloat(f, 64)
			if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
				return orientation{}, false
			}
			v = append(v, x)
		}
	}
	if len(v) != 9 {
		return orientation{}, false
	}
	return fromMatrix(v[0], v[1], v[3], v[4])
}

// start is where the container's time begins, s: ffmpeg counts its -ss from there.
func (c *container) start() *big.Rat {
	if strings.ContainsAny(c.Start, "eE/") {
		return new(big.Rat)
	}
	if r, ok := new(big.Rat).SetString(c.Start); ok {
		return r
	}
	return new(big.Rat)
}

// rational reads "N/D" with D and N positive.
func rational(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok || r.Sign() <= 0 || strings.ContainsAny(s, "eE.") {
		return nil
	}
	return r
}
