package footage

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// stand writes a shell script that stands before ffmpeg, with the real ffprobe beside it; %s in it is the real program.
func stand(t *testing.T, script string) string {
	t.Helper()
	real, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("ffmpeg is not installed")
	}
	probe, err := exec.LookPath("ffprobe")
	if err != nil {
		t.Skip("ffprobe is not installed")
	}
	if _, err := exec.LookPath("sh"); err != nil {
		t.Skip("there is no shell to write the program in")
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "ffmpeg")
	if err := os.WriteFile(path, fmt.Appendf(nil, "#!/bin/sh\n"+script, real), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(probe, filepath.Join(dir, "ffprobe")); err != nil {
		t.Fatal(err)
	}
	return path
}

// isOld says that the program is 4.4 and, as that one does, refuses -fps_mode.
const isOld = "case \"$*\" in -version) echo ffmpeg version 4.4.2; exit 0;; *-fps_mode*) echo \"Unrecognized option 'fps_mode'.\" >&2; exit 1;; esac\n" +
	"exec 3>&1\n\"%s\" \"$@\" 2>&1 >&3 3>&- | sed 's/ffmpeg version [^ ]*/ffmpeg version 4.4.2/' >&2\n"

func TestReadsWithAnOldProgram(t *testing.T) {
	t.Parallel()
	old := stand(t, isOld)
	path := made(t, "a.mp4", "-c:v", "libx264", "-bf", "2", "-pix_fmt", "yuv420p", "-t", "0.3")
	want := sums(t, opened(t, path, Options{}), 0, 0)
	f := opened(t, path, Options{FFmpeg: old})
	if v := f.Info().FFmpeg; v != "4.4.2" {
		t.Errorf("FFmpeg = %q, want 4.4.2", v)
	}
	n := 0
	err := f.Read(context.Background(), 0, 0, func(fr Frame) error {
		if sum(fr.Luma) != want[fr.Index] {
			t.Errorf("frame %d is another one", fr.Index)
		}
		n++
		return nil
	})
	if err != nil || n != len(want) {
		t.Errorf("Read = %v after %d frames, want %d", err, n, len(want))
	}
}

func TestEncodesWithAnOldProgram(t *testing.T) {
	t.Parallel()
	const w, h, n = 64, 48, 4
	path := filepath.Join(t.TempDir(), "a.mp4")
	e := Encoding{FFmpeg: stand(t, isOld), Width: w, Height: h, Rate: 30, Ticks: []int64{0, 900, 2700, 3000}}
	err := Encode(context.Background(), path, e, func(_ context.Context, put func([]byte) error) error {
		for range n {
			if err := put(make([]byte, w*h*3/2)); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := opened(t, path, Options{}).Len(); got != n {
		t.Errorf("the clip has %d frames, want %d", got, n)
	}
}

// TestStopsAProgramBehindAnother: some packages install a small program that starts the real one and waits for it. Where it is ended, the
// real one lives on, and must not be waited for.
func TestStopsAProgramBehindAnother(t *testing.T) {
	t.Parallel()
	const patience = time.Minute // far beyond what stopping takes on a busy machine
	path := made(t, "long.mp4", "-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p", "-vf", "scale=320:240")
	f := opened(t, path, Options{FFmpeg: stand(t, "\"%s\" \"$@\"\nexit $?\n")})
	enough := errors.New("enough")
	ended := make(chan error, 1)
	go func() { ended <- f.Read(context.Background(), 0, 0, func(Frame) error { return enough }) }()
	select {
	case err := <-ended:
		if !errors.Is(err, enough) {
			t.Errorf("Read = %v, want %v", err, enough)
		}
	case <-time.After(patience):
		t.Fatal("Read waits for a program that nobody reads from")
	}
}
