package footage

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// TestReadsWithAnOldProgram stands a program between that says it is 4.4 and, as that one does, refuses -fps_mode.
func TestReadsWithAnOldProgram(t *testing.T) {
	t.Parallel()
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
	old := filepath.Join(dir, "ffmpeg")
	script := "#!/bin/sh\ncase \"$*\" in *-fps_mode*) echo \"Unrecognized option 'fps_mode'.\" >&2; exit 1;; esac\n" +
		"exec 3>&1\n\"" + real + "\" \"$@\" 2>&1 >&3 3>&- | sed 's/ffmpeg version [^ ]*/ffmpeg version 4.4.2/' >&2\n"
	if err := os.WriteFile(old, []byte(script), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(probe, filepath.Join(dir, "ffprobe")); err != nil {
		t.Fatal(err)
	}
	path := made(t, "a.mp4", "-c:v", "libx264", "-bf", "2", "-pix_fmt", "yuv420p", "-t", "0.3")
	want := sums(t, opened(t, path, Options{}), 0, 0)
	f := opened(t, path, Options{FFmpeg: old})
	if v := f.Info().FFmpeg; v != "4.4.2" {
		t.Errorf("FFmpeg = %q, want 4.4.2", v)
	}
	n := 0
	err = f.Read(context.Background(), 0, 0, func(fr Frame) error {
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
