package footage

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"

	"padside/fault"
)

// RawFormat is how a frame to be encoded lies in memory.
type RawFormat int

const (
	// Planar420 is brightness, then the two colour differences at half the size: 8 bits, full range, ITU-R BT.601. It is
	// encoded as it is, so that a lossless clip decodes to the same numbers.
	Planar420 RawFormat = iota
	// RGBA is red, green, blue and one byte that is not looked at, row by row. It is encoded in the range and matrix that players
	// take for granted (ITU-R BT.709, limited range).
	RGBA
	// Straight is red, green, blue and alpha, colours not multiplied by alpha. It is written without loss by QuickTime's run-length codec
	// (qtrle), which editing programs read with its alpha.
	Straight
)

// StampClock is the unit of Encoding.Ticks, 1/s.
const StampClock = 90000

// Encoding says how a clip is written.
type Encoding struct {
	FFmpeg        string // the program; empty means PADSIDE_FFMPEG, or else ffmpeg on PATH
	Width, Height int    // px, both even: colour is kept for squares of four pixels
	Format        RawFormat
	Rate          float64 // Hz, of evenly stamped frames
	Ticks         []int64 // stamps of uneven frames in units of 1/StampClock s; nil for even ones
	Codec         string  // ffmpeg's encoder; empty: libx264
	CRF           int     // quality of libx264 (0: 16; negative: lossless), of libx265, libvpx-vp9 and, as its quantiser, of mjpeg (0: the encoder's own); smaller is better
	BFrames       int     // frames predicted from both sides between two others
	Interlaced    bool    // each frame is two fields, the even rows first; libx264 only
	Streamable    bool    // the index stands in front, so that a browser plays before it has all
}

const encodeHint = "install ffmpeg with H.264 (libx264) from your system's package manager, or set PADSIDE_FFMPEG to such a program"

// CanEncode says, before any work is done, whether there is a program that writes clips; name is as Encoding.FFmpeg.
func CanEncode(name string) error {
	_, err := encoder(name)
	return err
}

// encoder finds the program that writes clips.
func encoder(name string) (*tool, error) {
	name = programName(name)
	path, err := exec.LookPath(name)
	if err != nil {
		e := fault.Requestf(encodeHint, "cannot run %s, which writes clips", name)
		e.Cause = err
		return nil, e
	}
	return &tool{ffmpeg: path}, nil
}

// Encode writes a clip through ffmpeg. draw hands each frame's raw bytes to put, in order; they are its own again once put
// returns. Where drawing or encoding fails, or ctx ends, no file stays at path.
func Encode(ctx context.Context, path string, e Encoding, draw func(ctx context.Context, put func(frame []byte) error) error) error {
	if e.Width%2 != 0 || e.Height%2 != 0 || e.Width <= 0 || e.Height <= 0 {
		return fault.Requestf("choose an even width and height", "a clip of %dx%d pixels cannot be written", e.Width, e.Height)
	}
	t, err := encoder(e.FFmpeg)
	if err != nil {
		return err
	}
	t.introduce(ctx)
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	cmd := command(ctx, t.ffmpeg, e.arguments(t, path)...)
	complaint := capped{most: 4 << 10}
	cmd.Stderr = &complaint
	in, err := cmd.StdinPipe()
	if err != nil {
		return fmt.Errorf("open pipe to ffmpeg: %w", err)
	}
	if err := cmd.Start(); err != nil {
		return fault.Failedf(err, encodeHint, "start ffmpeg: %v", err)
	}
	if f, ok := in.(*os.File); ok {
		widen(f)
	}
	p := putter{w: in, size: e.frameBytes()}
	drawErr := draw(ctx, p.put)
	if drawErr != nil && p.broken == nil {
		cancel() // the clip is not wanted any more
	}
	in.Close()
	err = cmd.Wait()
	if drawErr == nil && err == nil {
		return nil
	}
	os.Remove(path) // what there is of it cannot be read
	switch {
	case ctx.Err() != nil && drawErr != nil:
		return drawErr
	case ctx.Err() != nil:
		return ctx.Err()
	}
	// Where the program closed its end, it says itself why.
	hint := encodeHint
	if bytes.Contains(complaint.kept, []byte("No space left")) {
		hint = "make room on the disk, or write into another folder"
	}
	return fault.Failedf(errors.Join(err, drawErr), hint, "write clip %s: ffmpeg: %s", path, firstWords(complaint.kept))
}

// frameBytes is the size of a raw frame.
func (e *Encoding) frameBytes() int {
	if e.Format == Planar420 {
		return e.Width * e.Height * 3 / 2
	}
	return e.Width * e.Height * 4
}

// putter hands frames to the program, each of one size.
type putter struct {
	w      io.Writer
	size   int
	broken error // the program takes no more
}

func (p *putter) put(frame []byte) error {
	if len(frame) != p.size {
		return fmt.Errorf("encode a frame of %d bytes: %d make a picture", len(frame), p.size)
	}
	if _, err := p.w.Write(frame); err != nil {
		p.broken = fmt.Errorf("write to ffmpeg: %w", err)
		return p.broken
	}
	return nil
}

// firstWords is the first line a child said, fit for a message.
func firstWords(said []byte) string {
	first, _, _ := bytes.Cut(bytes.TrimSpace(said), []byte("\n"))
	return printable(strings.ToValidUTF8(string(first), ""))
}

// arguments are ffmpeg's for raw frames on its standard input.
func (e *Encoding) arguments(t *tool, path string) []string {
	args := []string{"-hide_banner", "-nostdin", "-loglevel", "error", "-y", "-f", "rawvideo"}
	if e.Format == Straight {
		args = append(args, "-pix_fmt", "rgba", "-video_size", fmt.Sprintf("%dx%d", e.Width, e.Height), "-framerate", fmt.Sprint(e.Rate), "-r", fmt.Sprint(e.Rate), "-i", "pipe:0")
		args = append(append(args, t.everyFrame()...), "-vf", "setsar=1", "-c:v", "qtrle", "-pix_fmt", "argb", "-f", "mov")
		return append(args, "file:"+path)
	}
	filter, out := "setsar=1", []string{"-color_range", "pc"}
	if e.Format == RGBA {
		args = append(args, "-pix_fmt", "rgb0")
		filter = "scale=in_range=pc:out_range=tv:out_color_matrix=bt709:flags=bilinear,format=yuv420p,setsar=1"
		out = []string{"-color_range", "tv", "-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", "bt709"}
	} else {
		args = append(args, "-pix_fmt", "yuv420p", "-color_range", "pc")
	}
	args = append(args, "-video_size", fmt.Sprintf("%dx%d", e.Width, e.Height), "-framerate", fmt.Sprint(e.Rate))
	if e.Ticks == nil { // ffmpeg takes a rate near a common one for that, and repeats a frame or stamps two alike
		args = append(args, "-r", fmt.Sprint(e.Rate))
	}
	args = append(args, "-i", "pipe:0")
	if e.Ticks != nil {
		filter += fmt.Sprintf(",settb=1/%d,setpts='%s'", StampClock, stampsExpression(e.Ticks))
		args = append(args, "-enc_time_base", fmt.Sprintf("1:%d", StampClock), "-video_track_timescale", fmt.Sprint(StampClock))
	}
	args = append(append(append(args, "-vf", filter), t.everyFrame()...), out...)
	codec := e.Codec
	if codec == "" {
		codec = "libx264"
	}
	args = append(args, "-c:v", codec, "-pix_fmt", "yuv420p")
	args = append(args, e.quality(codec)...)
	if e.Streamable {
		args = append(args, "-movflags", "+faststart")
	}
	return append(args, "file:"+path)
}

// quality are the arguments of an encoder.
func (e *Encoding) quality(codec string) []string {
	rate := fmt.Sprint(e.CRF)
	switch {
	case codec == "libx265" && e.CRF > 0:
		return []string{"-preset", "veryfast", "-crf", rate, "-x265-params", "log-level=error", "-tag:v", "hvc1"}
	case codec == "libvpx-vp9" && e.CRF > 0: // constant quality; the speed is that of a live picture or nearly
		return []string{"-crf", rate, "-b:v", "0", "-deadline", "good", "-cpu-used", "5", "-row-mt", "1"}
	case codec == "mjpeg" && e.CRF > 0:
		return []string{"-q:v", rate}
	case codec != "libx264":
		return nil
	}
	args := []string{"-preset", "veryfast", "-bf", fmt.Sprint(e.BFrames)}
	switch {
	case e.CRF < 0:
		args = append(args, "-qp", "0")
	case e.CRF == 0:
		args = append(args, "-crf", "16")
	default:
		args = append(args, "-crf", rate)
	}
	if e.Interlaced {
		args = append(args, "-flags", "+ildct+ilme", "-x264-params", "tff=1")
	}
	return args
}

// stampsExpression is the stamp of frame N in ticks. It halves the frames over and over, for ffmpeg refuses expressions that nest a hundred deep, as a
// long sum does.
func stampsExpression(ticks []int64) string {
	var of func(from, to int) string
	of = func(from, to int) string {
		if to-from <= 1 {
			return fmt.Sprint(ticks[from])
		}
		middle := (from + to) / 2
		return fmt.Sprintf("if(lt(N,%d),%s,%s)", middle, of(from, middle), of(middle, to))
	}
	return of(0, len(ticks))
}
