package footage

import (
	"context"
	"math"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// A clip of a rate near a common one, 1 % off 240 a second, keeps its frames and stamps them evenly: ffprobe, which shares nothing with what wrote it
// here, reads as many as were drawn, each as long after the one before.
func TestEncodeKeepsItsRate(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"ffmpeg", "ffprobe"} {
		if _, err := exec.LookPath(name); err != nil {
			t.Skip(name + " is not installed")
		}
	}
	const side, n = 64, 139
	for _, rate := range []float64{238.5, 242.7, 240} {
		path := filepath.Join(t.TempDir(), "c.mp4")
		err := Encode(context.Background(), path, Encoding{Width: side, Height: side, Rate: rate, BFrames: 2}, func(_ context.Context, put func([]byte) error) error {
			for k := range n {
				b := make([]byte, side*side*3/2)
				for i := range b {
					b[i] = byte(k * i)
				}
				if err := put(b); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("ffprobe", "-v", "error", "-select_streams", "v", "-show_entries", "packet=pts_time", "-of", "csv=p=0", path).Output()
		if err != nil {
			t.Fatal(err)
		}
		var at []float64
		for _, l := range strings.Fields(strings.ReplaceAll(string(out), ",", " ")) {
			v, err := strconv.ParseFloat(l, 64)
			if err != nil {
				t.Fatal(err)
			}
			at = append(at, v)
		}
		slices.Sort(at)
		if len(at) != n {
			t.Fatalf("%g Hz: %d frames, want %d", rate, len(at), n)
		}
		for k, v := range at { // ffprobe prints microseconds
			if math.Abs(v-at[0]-float64(k)/rate) > 2e-4 {
				t.Errorf("%g Hz: frame %d is stamped %.6f s after the first, want %.6f", rate, k, v-at[0], float64(k)/rate)
				break
			}
		}
	}
}
