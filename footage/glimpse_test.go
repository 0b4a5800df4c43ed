package footage

import (
	"context"
	"fmt"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
)

// TestGlimpseShowsWhatReadShows compares thinned frames with those Read gives: a clip of 8 and of 10 bits with frames on which no
// other depends, turned and not, and stills.
func TestGlimpseShowsWhatReadShows(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg is not installed")
	}
	dir := t.TempDir()
	make := func(name string, args ...string) string {
		t.Helper()
		path := filepath.Join(dir, name)
		args = append([]string{"-v", "error", "-nostdin", "-f", "lavfi", "-i", "testsrc2=s=322x206:r=30:d=2"}, append(args, path)...)
		if out, err := exec.Command("ffmpeg", args...).CombinedOutput(); err != nil {
			t.Fatalf("make %s: %v: %s", name, err, out)
		}
		return path
	}
	eight := make("eight.mp4", "-c:v", "libx264", "-bf", "2", "-pix_fmt", "yuv420p")
	for _, c := range []struct {
		name, path             string
		rotate, step, from, to int
		all                    bool // no frame may be left out
	}{
		{"clip", eight, 0, 5, 0, 60, false},
		{"part of a clip, turned", eight, 1, 3, 17, 41, false},
		{"10 bits", make("ten.mkv", "-c:v", "libx264", "-bf", "2", "-pix_fmt", "yuv420p10le"), 3, 4, 0, 60, false},
		{"stills", filepath.Dir(make("s-%02d.png", "-frames:v", "5", "-pix_fmt", "gray")), 0, 7, 1, 4, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := c.path
			if c.all {
				path = filepath.Join(path, "s-*.png")
			}
			ctx := context.Background()
			f, err := Open(ctx, path, Options{Rotate: c.rotate})
			if err != nil {
				t.Fatal(err)
			}
			want := map[int]*Luma{}
			if err := f.Read(ctx, c.from, c.to, func(fr Frame) error { want[fr.Index] = fr.Luma; return nil }); err != nil {
				t.Fatal(err)
			}
			seen, last := 0, c.from-1
			err = f.Glimpse(ctx, c.from, c.to, c.step, func(fr Frame) error {
				w := want[fr.Index]
				if w == nil || fr.Index <= last {
					return fmt.Errorf("frame %d came after %d", fr.Index, last)
				}
				seen, last = seen+1, fr.Index
				if fr.Luma.Width != w.Width/c.step || fr.Luma.Height != w.Height/c.step || fr.Luma.Depth != w.Depth {
					return fmt.Errorf("frame %d is %dx%d, %d bits, of %dx%d, %d", fr.Index, fr.Luma.Width, fr.Luma.Height, fr.Luma.Depth, w.Width, w.Height, w.Depth)
				}
				for y := range fr.Luma.Height {
					for x := range fr.Luma.Width {
						if !middle(w, x, y, c.step, fr.Luma.At(x, y)) {
							return fmt.Errorf("frame %d, (%d, %d) = %g is not near the middle of its square", fr.Index, x, y, fr.Luma.At(x, y))
						}
					}
				}
				return nil
			})
			if err != nil {
				t.Error(err)
			}
			if n := c.to - c.from; seen < n/4 || c.all && seen != n || !c.all && seen == n {
				t.Errorf("%d of %d frames were shown", seen, n)
			}
		})
	}
}

// TestSkimShowsKeyFrames: of a clip with a key frame every 15 frames these alone are shown, and they are those the container marks.
func TestSkimShowsKeyFrames(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg is not installed")
	}
	for _, c := range []struct {
		name string
		args []string
	}{
		{"h264.mp4", []string{"-c:v", "libx264", "-bf", "2", "-x264-params", "keyint=15:scenecut=0"}},
		{"h265.mkv", []string{"-c:v", "libx265", "-x265-params", "keyint=15:scenecut=0:open-gop=0:log-level=none"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), c.name)
			args := append([]string{"-v", "error", "-nostdin", "-f", "lavfi", "-i", "testsrc2=s=322x206:r=30:d=2"}, append(c.args, path)...)
			if out, err := exec.Command("ffmpeg", args...).CombinedOutput(); err != nil {
				t.Skipf("make %s: %v: %s", c.name, err, out)
			}
			ctx := context.Background()
			f, err := Open(ctx, path, Options{Rotate: 1})
			if err != nil {
				t.Fatal(err)
			}
			if got, want := f.KeyFrames(), []int{0, 15, 30, 45}; !slices.Equal(got, want) {
				t.Errorf("key frames %v, want %v", got, want)
			}
			for _, i := range f.Between() {
				if i%15 == 0 || i == 59 {
					t.Errorf("frame %d is said to be predicted from both sides", i)
				}
			}
			if n := len(f.Between()); n < 20 {
				t.Errorf("%d of 60 frames are said to be predicted from both sides, want most", n)
			}
			var seen []int
			const step = 3
			err = f.Skim(ctx, 5, 46, step, func(fr Frame) error {
				seen = append(seen, fr.Index)
				want, err := f.Frame(ctx, fr.Index)
				if err != nil {
					return err
				}
				for y := range fr.Luma.Height {
					for x := range fr.Luma.Width {
						if !middle(want, x, y, step, fr.Luma.At(x, y)) {
							return fmt.Errorf("frame %d, (%d, %d) = %g is not near the middle of its square", fr.Index, x, y, fr.Luma.At(x, y))
						}
					}
				}
				return nil
			})
			if err != nil || !slices.Equal(seen, []int{15, 30, 45}) {
				t.Errorf("frames 5 to 45 skimmed: %v (%v), want 15, 30 and 45", seen, err)
			}
		})
	}
}

// middle says whether v is one of the pixels around the middle of a square: the middle one where step is odd, one of four where it
// is even.
func middle(l *Luma, x, y, step int, v float64) bool {
	for _, dy := range []int{(step - 1) / 2, step / 2} {
		for _, dx := range []int{(step - 1) / 2, step / 2} {
			if l.At(x*step+dx, y*step+dy) == v {
				return true
			}
		}
	}
	return false
}
