package footage

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"padside/fault"
)

// TestContainersFromElsewhere opens files other programs and cameras wrote. What is to be refused is refused by name; of the
// rest every frame is read.
func TestContainersFromElsewhere(t *testing.T) {
	t.Parallel()
	dir := filepath.Join("..", "..", "shared", "data", "containers")
	names, err := os.ReadDir(dir)
	if err != nil {
		t.Skip("../shared/data/containers is absent: no foreign containers tested")
	}
	refused := map[string]string{
		"invalid-bitstream.webm":                 "cannot be decoded",
		"subsample_encrypted_altref.webm":        "is encrypted",
		"sample_opus.mp4":                        "only sound",
		"sample_fragmented_sideloaded_track.mp4": "cannot read",
		"LICENSE":                                "cannot read",
	}
	warned := map[string]string{
		"sample.avi":                              "untrusted-stamps",
		"sample.mkv":                              "coarse-stamps",
		"sample_android_slow_motion.mp4":          "slowed",
		"sample_sef_slow_motion.mp4":              "slowed",
		"sample_sef_super_slow_motion.mp4":        "slowed",
		"portrait_4k60.mp4":                       "variable-rate",
		"hdr10-video-with-sdr-container.mp4":      "frames-missing",
		"sample_with_htc_rotation_track_name.mkv": "coarse-stamps",
	}
	for _, n := range names {
		name := n.Name()
		if isStill(name) {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			f, err := Open(context.Background(), filepath.Join(dir, name), Options{})
			if says, bad := refused[name]; bad {
				if err == nil || !strings.Contains(err.Error(), says) {
					t.Errorf("Open = %v, want a refusal that says %q", err, says)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			next := 0
			err = f.Read(context.Background(), 0, 0, func(fr Frame) error {
				if fr.Index != next {
					t.Errorf("Read gave frame %d, want %d", fr.Index, next)
				}
				next++
				fr.Release()
				return nil
			})
			if err != nil || next != f.Len() {
				t.Errorf("Read gave %d frames (%v), want %d", next, err, f.Len())
			}
			checkForeign(t, name, f.Info(), warned[name])
		})
	}
}

func checkForeign(t *testing.T, name string, i Info, warned string) {
	t.Helper()
	if !i.Complete {
		t.Errorf("not complete, want complete: %v", i.Warnings)
	}
	var codes []string
	for _, w := range i.Warnings {
		codes = append(codes, w.Code)
	}
	if warned == "" && len(codes) > 0 || warned != "" && !slices.Contains(codes, warned) {
		t.Errorf("warnings %v, want %q", i.Warnings, warned)
	}
	if slowed := slices.ContainsFunc(i.Warnings, func(w fault.Warning) bool { return w.Code == "slowed" }); slowed && i.StampsTrusted {
		t.Error("the stamps of slowed footage are trusted")
	}
	switch name {
	case "portrait_4k60.mp4": // ffprobe: coded 3840x2160 with a matrix of a quarter turn, 18 frames
		if i.Width != 2160 || i.Height != 3840 || i.Rotation != 90 || i.Frames != 18 {
			t.Errorf("%d x %d turned by %d, %d frames, want 2160 x 3840, 90, 18", i.Width, i.Height, i.Rotation, i.Frames)
		}
	case "sample_sef_slow_motion.mp4":
		if i.CaptureRate != 240 {
			t.Errorf("capture rate %g Hz, want the tag's 240", i.CaptureRate)
		}
	}
}

// TestAVIHoldsNoTimes: H.264 with B-frames in AVI announces frames that are not there and times that are guesses.
func TestAVIHoldsNoTimes(t *testing.T) {
	t.Parallel()
	path := made(t, "b.avi", "-c:v", "libx264", "-bf", "3", "-pix_fmt", "yuv420p")
	f := opened(t, path, Options{})
	_, want := truth(t, path, "yuv420p", 128, 96, 1)
	if got := sums(t, f, 0, 0); !slices.Equal(got, want) || len(got) != 120 {
		t.Errorf("%d frames, want the 120 filmed, as decoded elsewhere (%d)", len(got), len(want))
	}
	if i := f.Info(); i.StampsTrusted {
		t.Errorf("Info() = %+v, want stamps not trusted", i)
	}
	for _, k := range []int{0, 7, 60, 119} {
		l, err := f.Frame(context.Background(), k)
		if err != nil || sum(l) != want[k] {
			t.Errorf("Frame(%d) is not frame %d: %v", k, k, err)
		}
	}
}
