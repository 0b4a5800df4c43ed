package footage

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"

	"padside/fault"
)

const installHint = "install ffmpeg (it brings ffprobe) from your system's package manager, or set PADSIDE_FFMPEG to the program; stills need neither"

// tool is the pair of programs that decode clips. The version is learnt from the banner of its first run.
type tool struct {
	ffmpeg, ffprobe string
	version         string
	major, minor    int // 99.0 where the version has no number: a development build
}

// programName is the ffmpeg to use: the one named, else the environment's, else the one on PATH.
func programName(name string) string {
	if name == "" {
		name = os.Getenv("PADSIDE_FFMPEG")
	}
	if name == "" {
		name = "ffmpeg"
	}
	return name
}

// findTool locates ffmpeg and ffprobe.
func findTool(name string) (*tool, error) {
	name = programName(name)
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
	return &tool{ffmpeg: path, ffprobe: probe}, nil
}

func missing(cause error, name string) error {
	e := fault.Requestf(installHint, "cannot run %s, which clips need", name)
	e.Cause = cause
	return e
}

var (
	banner = regexp.MustCompile(`^ffmpeg version (\S+)`)
	number = regexp.MustCompile(`^n?(\d+)\.(\d+)`)
)

// learn takes the version from ffmpeg's banner. Builds of a development branch have no number and count as new.
func (t *tool) learn(line []byte) {
	m := banner.FindSubmatch(line)
	if m == nil {
		return
	}
	t.version = printable(string(m[1]))
	t.major, t.minor = 99, 0
	if n := number.FindStringSubmatch(t.version); n != nil {
		t.major, _ = strconv.Atoi(n[1]) // digits
		t.minor, _ = strconv.Atoi(n[2])
	}
}

// since tells whether ffmpeg is at least that version.
func (t *tool) since(major, minor int) bool {
	return t.major > major || t.major == major && t.minor >= minor
}

// introduce asks ffmpeg for its version, where nothing else has shown it yet. A program that does not say is taken for a new one.
func (t *tool) introduce(ctx context.Context) {
	said, _ := command(ctx, t.ffmpeg, "-version").Output() // what it cannot do it says when it is to work
	first, _, _ := bytes.Cut(said, []byte("\n"))
	if t.learn(first); t.version == "" {
		t.major = 99
	}
}

// everyFrame is the option that hands on every frame once, none made up and none dropped. Its name has changed.
func (t *tool) everyFrame() []string {
	if !t.since(5, 1) {
		return []string{"-vsync", "passthrough"}
	}
	return []string{"-fps_mode", "passthrough"}
}

// passthrough are the options that do so for what is decoded, with the stamps in the clip's own unit.
func (t *tool) passthrough() []string {
	if !t.since(6, 1) {
		return append(t.everyFrame(), "-enc_time_base", "-1")
	}
	return append(t.everyFrame(), "-enc_time_base", "demux")
}

// containers are the formats a clip may come in. ffmpeg would also open text files and play lists, which lead to other files.
const containers = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,mpegts,mpeg,mpegvideo,m4v,h264,hevc,obu,ivf,av1,mjpeg,mxf,asf,flv,ogg," +
	"dv,gif,apng,nut,yuv4mpegpipe,rm,wtv,cine,gxf,vc1,dnxhd"

// input are the options that open this one file and nothing else.
func input(path string) []string {
	return []string{"-protocol_whitelist", "file,pipe", "-format_whitelist", containers, "-i", "file:" + path}
}

// command makes a child process that dies with the context.
func command(ctx context.Context, name string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, name, args...)
	c.WaitDelay = 2 * time.Second
	return c
}

// capped keeps the first bytes written to it and lets the rest go.
type capped struct {
	kept []byte
	most int
}

func (c *capped) Write(b []byte) (int, error) {
	c.kept = append(c.kept, b[:min(len(b), c.most-len(c.kept))]...)
	return len(b), nil
}

// lastWords is a child's last line, fit for a message: without the names of its parts and of the file.
func lastWords(said, path string) string {
	lines := strings.Split(strings.TrimSpace(said), "\n")
	last := strings.TrimPrefix(strings.TrimSpace(lines[len(lines)-1]), "file:"+path+": ")
	for strings.HasPrefix(last, "[") {
		_, rest, ok := strings.Cut(last, "] ")
		if !ok {
			break
		}
		last = rest
	}
	const longest = 160
	return strings.TrimSpace(printable(strings.ToValidUTF8(last[:min(len(last), longest)], "")))
}

// printable drops control characters, by which a hostile file could command the terminal.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return -1
		}
		return r
	}, s)
}
