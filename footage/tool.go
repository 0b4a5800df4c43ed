package footage

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"padside/fault"
)

const installHint = "install ffmpeg (it brings ffprobe) from your system's package manager, or set PADSIDE_FFMPEG to the program; stills need neither"

// tool is the pair of programs that decode clips.
type tool struct {
	ffmpeg, ffprobe string
	version         string
}

// findTool locates ffmpeg and ffprobe and asks for the version.
func findTool(ctx context.Context, name string) (*tool, error) {
	if name == "" {
		name = os.Getenv("PADSIDE_FFMPEG")
	}
	if name == "" {
		name = "ffmpeg"
	}
	path, err := exec.LookPath(name)
	if err != nil {
		return nil, missing(err, name)
	}
	probe := filepath.Join(filepath.Dir(path), "ffprobe"+filepath.Ext(path))
	if _, err := os.Stat(probe); err != nil {
		if probe, err = exec.LookPath("ffprobe"); err != nil {
			return nil, missing(err, "ffprobe")
		}
	}
	out, _, err := run(ctx, path, "-hide_banner", "-version")
	if err != nil {
		return nil, missing(err, name)
	}
	t := &tool{ffmpeg: path, ffprobe: probe}
	if f := strings.Fields(string(out)); len(f) >= 3 && f[0] == "ffmpeg" && f[1] == "version" {
		t.version = f[2]
	}
	return t, nil
}

func missing(cause error, name string) error {
	e := fault.Requestf(installHint, "cannot run %s, which clips need", name)
	e.Cause = cause
	return e
}

// command makes a child process that dies with the context.
func command(ctx context.Context, name string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, name, args...)
	c.WaitDelay = 2 * time.Second
	return c
}

// run collects what a short child process says.
func run(ctx context.Context, name string, args ...string) (stdout, stderr []byte, err error) {
	var out, errs bytes.Buffer
	c := command(ctx, name, args...)
	c.Stdout, c.Stderr = &out, &errs
	err = c.Run()
	if ctx.Err() != nil {
		err = ctx.Err()
	}
	return out.Bytes(), errs.Bytes(), err
}

// lastLine is the child's last words, for a message.
func lastLine(b []byte) string {
	lines := strings.Split(strings.TrimSpace(string(b)), "\n")
	return strings.TrimSpace(lines[len(lines)-1])
}
