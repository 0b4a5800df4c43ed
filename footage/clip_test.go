package footage

import (
	"bytes"
	"context"
	"crypto/md5"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"padside/fault"
)

// ffmpeg runs the program as a reader of its manual would, apart from the package's own code.
func ffmpeg(t *testing.T, args ...string) []byte {
	t.Helper()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg is not installed: clips are not tested")
	}
	c := exec.Command("ffmpeg", append([]string{"-v", "error", "-y", "-nostdin"}, args...)...)
	var errs bytes.Buffer
	c.Stderr = &errs
	out, err := c.Output()
	if err != nil {
		t.Fatalf("ffmpeg %v: %v: %s", args, err, errs.String())
	}
	return out
}

// made films a test picture with noise into a file of the given name.
func made(t *testing.T, name string, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	a := []string{"-f", "lavfi", "-i", "testsrc2=s=128x96:r=60:d=2,noise=alls=20:all_seed=1"}
	ffmpeg(t, append(append(a, args...), path)...)
	return path
}

// truth decodes a clip frame by frame with ffprobe's frame scan for times, and with a plain
// conversion to the planes for content: another route than the package's.
func truth(t *testing.T, path, pixFmt string, w, h, bytesPer int) (pts []int64, sums [][16]byte) {
	t.Helper()
	raw := ffmpeg(t, "-noautorotate", "-i", path, "-fps_mode", "passthrough", "-pix_fmt", pixFmt, "-f", "rawvideo", "pipe:1")
	out, err := exec.Command("ffprobe", "-v", "quiet", "-select_streams", "v:0", "-show_entries", "frame=pts", "-of", "json", path).Output()
	if err != nil {
		t.Fatal(err)
	}
	var f struct{ Frames []struct{ PTS int64 } }
	if err := json.Unmarshal(out, &f); err != nil {
		t.Fatal(err)
	}
	for _, x := range f.Frames {
		pts = append(pts, x.PTS)
	}
	whole := w * h * bytesPer * 3 / 2 // 4:2:0
	for ; len(raw) >= whole; raw = raw[whole:] {
		sums = append(sums, md5.Sum(raw[:w*h*bytesPer]))
	}
	return pts, sums
}

func sum(l *Luma) [16]byte {
	if l.Pix8 != nil {
		return md5.Sum(l.Pix8)
	}
	b := make([]byte, 0, 2*len(l.Pix16))
	for _, v := range l.Pix16 {
		b = append(b, byte(v), byte(v>>8))
	}
	return md5.Sum(b)
}

func opened(t *testing.T, path string, o Options) *Footage {
	t.Helper()
	f, err := Open(context.Background(), path, o)
	if err != nil {
		t.Fatalf("Open(%s) = %v", path, err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func sums(t *testing.T, f *Footage, from, to int) (got [][16]byte) {
	t.Helper()
	next := from
	err := f.Read(context.Background(), from, to, func(fr Frame) error {
		if fr.Index != next {
			t.Errorf("Read gave frame %d, want %d", fr.Index, next)
		}
		next++
		got = append(got, sum(fr.Luma))
		fr.Release()
		fr.Release() // does nothing
		return nil
	})
	if err != nil {
		t.Fatalf("Read(%d, %d) = %v", from, to, err)
	}
	return got
}

func TestFramesMatchAnotherDecoding(t *testing.T) {
	t.Parallel()
	uneven := []string{"-vf", "select='not(eq(mod(n,7),3))'", "-fps_mode", "vfr"}
	for _, c := range []struct {
		name, pixFmt string
		args         []string
		trusted      bool
		depth        int
	}{
		{"bframes.mp4", "yuv420p", []string{"-c:v", "libx264", "-bf", "3", "-g", "25", "-pix_fmt", "yuv420p"}, true, 8},
		{"uneven.mp4", "yuv420p", append(slices.Clone(uneven), "-c:v", "libx264", "-bf", "2", "-pix_fmt", "yuv420p"), true, 8},
		{"uneven.mkv", "yuv420p", append(slices.Clone(uneven), "-c:v", "libx264", "-pix_fmt", "yuv420p"), true, 8},
		{"fragments.mp4", "yuv420p", []string{"-c:v", "libx264", "-bf", "3", "-g", "20", "-pix_fmt", "yuv420p", "-movflags", "frag_keyframe+empty_moov"}, true, 8},
		{"ten.mp4", "yuv420p10le", []string{"-c:v", "libx264", "-pix_fmt", "yuv420p10le"}, true, 10},
		{"motion.avi", "yuvj420p", []string{"-c:v", "mjpeg", "-pix_fmt", "yuvj420p"}, false, 8},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := made(t, c.name, c.args...)
			f := opened(t, path, Options{})
			info := f.Info()
			pts, want := truth(t, path, c.pixFmt, 128, 96, (c.depth+7)/8)
			if !slices.Equal(f.src.(*clip).pts, pts) {
				t.Errorf("stamps = %v, want %v", f.src.(*clip).pts, pts)
			}
			if info.StampsTrusted != c.trusted || info.Depth != c.depth || !info.Complete || info.FFmpeg == "" {
				t.Errorf("Info() = %+v, want trusted %v, depth %d, complete", info, c.trusted, c.depth)
			}
			if got := sums(t, f, 0, 0); !slices.Equal(got, want) {
				t.Errorf("Read: %d frames do not equal the other decoding's %d", len(got), len(want))
			}
			for _, from := range []int{1, 37, len(want) - 2} {
				if got := sums(t, f, from, from+2); !slices.Equal(got, want[from:from+2]) {
					t.Errorf("Read(%d, %d) gave other frames", from, from+2)
				}
			}
		})
	}
}

func TestMatroskaStampsAreRounded(t *testing.T) {
	t.Parallel()
	f := opened(t, made(t, "a.mkv", "-c:v", "libx264", "-pix_fmt", "yuv420p"), Options{})
	const want, tolerance = 0.28867513e-3, 1e-9 // 1 ms / sqrt(12), GUM 4.3.7
	if u := f.Info().StampU; u < want-tolerance || u > want+tolerance {
		t.Errorf("StampU = %v, want %v", u, want)
	}
	if s := f.info.steps(); !s.Constant || s.Smallest == s.Largest {
		t.Errorf("steps = %+v, want constant within the rounding", s)
	}
}

func TestRotationMatchesFFmpegsOwn(t *testing.T) {
	t.Parallel()
	plain := made(t, "plain.mp4", "-c:v", "libx264", "-pix_fmt", "yuv420p", "-t", "0.2")
	for _, degrees := range []int{90, 180, 270} {
		path := filepath.Join(t.TempDir(), "turned.mp4")
		ffmpeg(t, "-i", plain, "-c", "copy", "-metadata:s:v:0", "rotate="+strconv.Itoa(degrees), path)
		f := opened(t, path, Options{})
		w, h := f.Size()
		if f.Info().Rotation == 0 {
			t.Skip("this ffmpeg cannot write a rotation")
		}
		raw := ffmpeg(t, "-i", path, "-frames:v", "1", "-pix_fmt", "yuv420p", "-f", "rawvideo", "pipe:1")
		if got := sums(t, f, 0, 1)[0]; got != md5.Sum(raw[:w*h]) {
			t.Errorf("rotation %d: frame 0 is not as ffmpeg turns it", f.Info().Rotation)
		}
		m, err := f.Picture(context.Background(), 3)
		if err != nil || m.Bounds().Dx() != w || m.Bounds().Dy() != h {
			t.Errorf("Picture(3) = %v, %v, want %d x %d", m.Bounds(), err, w, h)
		}
		back := opened(t, path, Options{Rotate: 4 - f.Info().Rotation/90})
		if bw, bh := back.Size(); bw != 128 || bh != 96 || back.Info().Rotation != 0 {
			t.Errorf("turned back: %d x %d, want 128 x 96", bw, bh)
		}
	}
}

func TestTruncatedClips(t *testing.T) {
	t.Parallel()
	for name, args := range map[string][]string{
		"whole.mp4": {"-c:v", "libx264", "-bf", "3", "-pix_fmt", "yuv420p", "-movflags", "faststart"},
		"whole.mkv": {"-c:v", "libx264", "-bf", "3", "-pix_fmt", "yuv420p"},
		"whole.avi": {"-c:v", "mjpeg", "-pix_fmt", "yuvj420p"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			checkTruncated(t, made(t, name, args...))
		})
	}
}

func checkTruncated(t *testing.T, path string) {
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data[:len(data)*6/10], 0o600); err != nil {
		t.Fatal(err)
	}
	f := opened(t, path, Options{})
	if f.Info().Complete || len(f.Info().Warnings) == 0 {
		t.Errorf("Info() = %+v, want incomplete with a warning", f.Info())
	}
	if got := sums(t, f, 0, 0); len(got) != f.Len() || f.Len() >= 120 || f.Len() < 40 {
		t.Errorf("read %d frames of %d", len(got), f.Len())
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	junk := filepath.Join(dir, "junk.mp4")
	if err := os.WriteFile(junk, []byte("this is no clip"), 0o600); err != nil {
		t.Fatal(err)
	}
	sound := filepath.Join(dir, "sound.m4a")
	ffmpeg(t, "-f", "lavfi", "-i", "sine=d=0.2", sound)
	for name, c := range map[string]struct {
		path string
		o    Options
	}{
		"missing":   {filepath.Join(dir, "none.mp4"), Options{}},
		"junk":      {junk, Options{}},
		"sound":     {sound, Options{}},
		"empty":     {t.TempDir(), Options{}},
		"glob":      {filepath.Join(dir, "*.png"), Options{}},
		"no ffmpeg": {junk, Options{FFmpeg: filepath.Join(dir, "ffmpeg")}},
		"rotation":  {junk, Options{Rotate: 45}},
	} {
		_, err := Open(context.Background(), c.path, c.o)
		var e *fault.Error
		if !errors.As(err, &e) || e.Kind != fault.Request || e.Hint == "" {
			t.Errorf("%s: Open(%s) = %v, want a request error with a hint", name, c.path, err)
		}
	}
}

func TestVisitorStops(t *testing.T) {
	t.Parallel()
	f := opened(t, made(t, "a.mp4", "-c:v", "libx264", "-pix_fmt", "yuv420p"), Options{})
	enough := errors.New("enough")
	seen := 0
	err := f.Read(context.Background(), 0, 0, func(Frame) error {
		if seen++; seen == 3 {
			return enough
		}
		return nil
	})
	if !errors.Is(err, enough) || seen != 3 {
		t.Errorf("Read = %v after %d frames, want the visitor's error after 3", err, seen)
	}
	ctx, cancel := context.WithCancel(context.Background())
	err = f.Read(ctx, 0, 0, func(Frame) error { cancel(); return nil })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("Read = %v after cancelling, want %v", err, context.Canceled)
	}
}
