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

	"padside/fault"
	"padside/guard"
)

// decoding is one run of ffmpeg: raw frames on its standard output, their stamps on its
// standard error as the showinfo filter prints them.
type decoding struct {
	cmd      *exec.Cmd
	watch    *watcher
	tool     *tool
	path     string
	out      io.Reader
	pipes    [2]io.Closer // our ends of the child's output and standard error
	shown    chan shown
	first    shown
	listened <-chan error // why listening to its standard error ended; read after shown is closed
	faults   []string     // the child's complaints, the first few; read after shown is closed
}

// pass says what to decode.
type pass struct {
	seek    string   // seconds for -ss; empty decodes from the start
	limit   int      // frames; 0: all
	filters []string // after showinfo
	format  string   // output pixel format; empty: frames are counted, not handed over
	skip    string   // which frames to leave out, as ffmpeg's -skip_frame has it; empty: none
	greet   bool     // let ffmpeg say its version
}

// arguments are ffmpeg's. checksum=0 spares much time; passthrough keeps frames of uneven clips from being doubled or dropped;
// -copyts keeps the stamps as stored; unbuffered output spares a copy of every frame.
func (p pass) arguments(t *tool, path string) []string {
	args := []string{"-nostdin", "-nostats", "-loglevel", "repeat+level+info", "-noautorotate", "-copyts"}
	if !p.greet {
		args = append(args, "-hide_banner")
	}
	if p.seek != "" {
		args = append(args, "-ss", p.seek)
	}
	if p.skip != "" {
		args = append(args, "-skip_frame", p.skip)
	}
	args = append(append(args, "-max_pixels", strconv.Itoa(maxPixels)), input(path)...)
	args = append(args, "-map", "0:V:0", "-an", "-sn", "-dn", "-vf", strings.Join(append([]string{"showinfo=checksum=0"}, p.filters...), ","))
	if p.limit > 0 {
		args = append(args, "-frames:v", strconv.Itoa(p.limit))
	}
	if p.format == "" { // the version may not be known yet, and with nothing handed over nothing can be doubled
		return append(args, "-f", "null", "-")
	}
	args = append(args, t.passthrough()...)
	return append(args, "-pix_fmt", p.format, "-avioflags", "direct", "-f", "rawvideo", "pipe:1")
}

// decode starts ffmpeg.
func decode(ctx context.Context, t *tool, path string, p pass) (*decoding, error) {
	w := watch(ctx, stall)
	d := &decoding{cmd: command(w.ctx, t.ffmpeg, p.arguments(t, path)...), watch: w, tool: t, path: path, shown: make(chan shown, 4096)}
	out, err := d.cmd.StdoutPipe()
	if err != nil {
		w.stop()
		return nil, fault.Failedf(err, installHint, "open a pipe from ffmpeg")
	}
	errs, err := d.cmd.StderrPipe()
	if err != nil {
		w.stop()
		return nil, fault.Failedf(err, installHint, "open a pipe from ffmpeg")
	}
	if err := d.cmd.Start(); err != nil {
		w.stop()
		return nil, missing(err, t.ffmpeg)
	}
	d.pipes = [2]io.Closer{out, errs}
	if f, ok := out.(*os.File); ok && p.format != "" {
		widen(f)
	}
	d.out = w.watched(out)
	if p.format == "" {
		errs = struct {
			io.Reader
			io.Closer
		}{w.watched(errs), errs}
	}
	d.listened = guard.Go(func() error { d.listen(w.ctx, errs, p.greet); return nil })
	return d, nil
}

// listen parses the child's standard error until it ends.
func (d *decoding) listen(ctx context.Context, r io.Reader, greeted bool) {
	defer close(d.shown)
	lines := bufio.NewReaderSize(r, 64<<10)
	for {
		line, err := lines.ReadSlice('\n')
		for errors.Is(err, bufio.ErrBufferFull) { // longer than any line of interest: data inside the clip
			line = nil
			_, err = lines.ReadSlice('\n')
		}
		if greeted {
			d.tool.learn(bytes.TrimPrefix(line, []byte("[info] ")))
			greeted = d.tool.version == ""
		}
		if s, ok := parseShown(line); ok {
			select {
			case d.shown <- s:
			case <-ctx.Done(): // read on, so that the child can end
			}
		} else if bytes.Contains(line, []byte("[error] ")) || bytes.Contains(line, []byte("[fatal] ")) {
			const kept = 20
			if len(d.faults) < kept {
				d.faults = append(d.faults, strings.TrimSpace(string(line[:min(len(line), 300)])))
			}
		}
		if err != nil {
			return
		}
	}
}

var errResized = errors.New("the picture changes its size")

// next fills b with one frame and returns its stamp; io.EOF at the end, or io.ErrUnexpectedEOF.
func (d *decoding) next(b []byte) (int64, error) {
	if _, err := io.ReadFull(d.out, b); err != nil {
		if d.watch.hung() {
			return 0, hung(d.tool.ffmpeg, d.path)
		}
		return 0, err
	}
	s, ok := <-d.shown
	if !ok {
		if err := <-d.listened; err != nil {
			return 0, err
		}
		return 0, errors.New("a frame came without its stamp")
	}
	if d.first.width == 0 {
		d.first = s
	}
	if s.width != d.first.width || s.height != d.first.height {
		return 0, errResized
	}
	return s.pts, nil
}

// stop ends the child, whether or not it is done, and waits for it. What the child itself started may outlive it, blocked for
// nobody reads, and keep the pipes open: they are closed here, which ends it too.
func (d *decoding) stop() {
	d.watch.stop()
	for _, p := range d.pipes {
		_ = p.Close() // closed already: Wait's doing, or the end
	}
	for range d.shown { // until listen is done
	}
	_ = d.cmd.Wait() // killed on purpose, or judged by its frames
}

// finish lets the child run to its own end and returns what it complained of.
func (d *decoding) finish() []string {
	if _, err := io.Copy(io.Discard, d.out); err != nil {
		return nil // ended from outside: nothing can be said
	}
	for range d.shown {
	}
	if err := <-d.listened; err != nil {
		return append(d.faults, err.Error())
	}
	return d.faults
}

// scanned is what decoding without handing frames over shows.
type scanned struct {
	pts    []int64
	woven  bool
	faults []string
}

// scan decodes up to limit frames (0: all).
func scan(ctx context.Context, t *tool, path string, limit int) (scanned, error) {
	d, err := decode(ctx, t, path, pass{limit: limit, greet: limit > 0})
	if err != nil {
		return scanned{}, err
	}
	defer d.stop()
	var s scanned
	for f := range d.shown {
		if limit == 0 && len(s.pts) == maxFrames {
			return scanned{}, fault.Requestf("cut it to the flight", "the clip holds more than the %d frames that are read", maxFrames)
		}
		if limit == 0 || len(s.pts) < limit { // the filter runs a little ahead of the limit
			s.pts = append(s.pts, f.pts)
		}
		s.woven = s.woven || f.woven
	}
	s.faults = d.faults
	if ctx.Err() != nil {
		return scanned{}, ctx.Err()
	}
	if d.watch.hung() {
		return scanned{}, hung(t.ffmpeg, path)
	}
	return s, nil
}
