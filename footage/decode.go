package footage

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"strconv"
	"strings"
)

// decoding is one run of ffmpeg: raw frames on its standard output, their stamps on its
// standard error as the showinfo filter prints them.
type decoding struct {
	cmd    *exec.Cmd
	cancel context.CancelFunc
	out    io.Reader
	pts    chan int64
	faults []string // the child's complaints; read after pts is closed
}

// pass says what to decode.
type pass struct {
	seek   string // seconds for -ss; empty decodes from the start
	limit  int    // frames; 0: all
	filter string // after showinfo; empty: none
	format string // output pixel format
	null   bool   // frames are counted, not handed over
	hasty  bool   // leave out frames on which no other depends
}

// arguments are ffmpeg's. checksum=0 spares much time; passthrough keeps frames of uneven
// clips from being doubled or dropped; -copyts keeps the stamps as stored.
func (p pass) arguments(path string) []string {
	args := []string{"-hide_banner", "-nostdin", "-nostats", "-loglevel", "level+info",
		"-protocol_whitelist", "file,pipe", "-noautorotate", "-copyts"}
	if p.seek != "" {
		args = append(args, "-ss", p.seek)
	}
	if p.hasty {
		args = append(args, "-skip_frame", "noref")
	}
	filter := "showinfo=checksum=0"
	if p.filter != "" {
		filter += "," + p.filter
	}
	args = append(args, "-i", "file:"+path, "-map", "0:V:0", "-an", "-sn", "-dn",
		"-fps_mode", "passthrough", "-enc_time_base", "-1", "-vf", filter)
	if p.limit > 0 {
		args = append(args, "-frames:v", strconv.Itoa(p.limit))
	}
	if p.null {
		return append(args, "-f", "null", "-")
	}
	return append(args, "-pix_fmt", p.format, "-f", "rawvideo", "pipe:1")
}

// decode starts ffmpeg.
func decode(ctx context.Context, t *tool, path string, p pass) (*decoding, error) {
	ctx, cancel := context.WithCancel(ctx)
	d := &decoding{cmd: command(ctx, t.ffmpeg, p.arguments(path)...), cancel: cancel, pts: make(chan int64, 4096)}
	out, err := d.cmd.StdoutPipe()
	if err != nil {
		cancel()
		return nil, err
	}
	errs, err := d.cmd.StderrPipe()
	if err != nil {
		cancel()
		return nil, err
	}
	if err := d.cmd.Start(); err != nil {
		cancel()
		return nil, err
	}
	if f, ok := out.(*os.File); ok {
		widen(f)
	}
	d.out = out
	go d.listen(ctx, errs)
	return d, nil
}

// noStamp stands for a frame without a stamp.
const noStamp = -1 << 63

// listen parses the child's standard error until it ends.
func (d *decoding) listen(ctx context.Context, r io.Reader) {
	defer close(d.pts)
	lines := bufio.NewReaderSize(r, 64<<10)
	for {
		line, err := lines.ReadSlice('\n')
		for errors.Is(err, bufio.ErrBufferFull) { // longer than any line of interest: data inside the clip
			line = nil
			_, err = lines.ReadSlice('\n')
		}
		if pts, ok := stampIn(line); ok {
			select {
			case d.pts <- pts:
			case <-ctx.Done(): // read on, so that the child can end
			}
		} else if bytes.Contains(line, []byte("[error]")) || bytes.Contains(line, []byte("[fatal]")) {
			if len(d.faults) < 20 {
				d.faults = append(d.faults, strings.TrimSpace(string(line[:min(len(line), 300)])))
			}
		}
		if err != nil {
			return
		}
	}
}

// stampIn reads the stamp of a showinfo frame line, "... n: 3 pts: 1536 pts_time:...".
func stampIn(line []byte) (int64, bool) {
	head, rest, ok := bytes.Cut(line, []byte(" pts:"))
	if !ok || !bytes.Contains(head, []byte("showinfo")) || !bytes.Contains(head, []byte(" n:")) || !bytes.Contains(rest, []byte("pts_time:")) {
		return 0, false
	}
	word, _, _ := strings.Cut(strings.TrimSpace(string(rest)), " ")
	if v, err := strconv.ParseInt(word, 10, 64); err == nil {
		return v, true
	}
	return noStamp, true
}

// next fills b with one frame and returns its stamp; io.EOF at the clean end.
func (d *decoding) next(b []byte) (int64, error) {
	if _, err := io.ReadFull(d.out, b); err != nil {
		return 0, err
	}
	pts, ok := <-d.pts
	if !ok {
		return 0, errors.New("a frame came without its stamp")
	}
	return pts, nil
}

// stop ends the child, whether or not it is done, and waits for it.
func (d *decoding) stop() {
	d.cancel()
	for range d.pts { // until listen is done
	}
	_ = d.cmd.Wait() // killed on purpose, or judged by its frames
}

// scan decodes up to limit frames (0: all) and returns their stamps and the child's complaints.
func scan(ctx context.Context, t *tool, path string, limit int) (pts []int64, faults []string, err error) {
	d, err := decode(ctx, t, path, pass{limit: limit, null: true})
	if err != nil {
		return nil, nil, err
	}
	defer d.stop()
	for p := range d.pts {
		pts = append(pts, p)
	}
	if ctx.Err() != nil {
		return nil, nil, ctx.Err()
	}
	if limit > 0 && len(pts) > limit { // the filter runs a little ahead of the limit
		pts = pts[:limit]
	}
	return pts, d.faults, nil
}
