package footage

import (
	"context"
	"math/rand/v2"
	"testing"
)

// TestFrameIsReadsFrame asks for every frame by itself, in mixed order through a small cache,
// and holds it against one pass over the clip.
func TestFrameIsReadsFrame(t *testing.T) {
	t.Parallel()
	// Three frames of 128x96 fit: most calls decode anew.
	const small = 3 * 128 * 96
	x264 := []string{"-c:v", "libx264", "-pix_fmt", "yuv420p", "-g", "8", "-t", "0.27"} // two groups of frames
	for name, args := range map[string][]string{
		"b-frames.mp4":   append([]string{"-bf", "3"}, x264...),
		"open-gop.mp4":   append([]string{"-bf", "3", "-x264-params", "open-gop=1"}, x264...),
		"uneven.mp4":     append([]string{"-vf", "select='not(eq(mod(n,7),3))'", "-fps_mode", "vfr", "-bf", "2"}, x264...),
		"fragmented.mp4": append([]string{"-movflags", "frag_keyframe+empty_moov", "-bf", "2"}, x264...),
		"delayed.mp4":    append([]string{"-output_ts_offset", "1.5", "-bf", "2"}, x264...),
		"rounded.mkv":    append([]string{"-bf", "2"}, x264...),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			f := opened(t, made(t, name, args...), Options{CacheBytes: small})
			want := sums(t, f, 0, 0)
			for _, i := range rand.New(rand.NewPCG(1, 2)).Perm(len(want)) {
				l, err := f.Frame(context.Background(), i)
				if err != nil {
					t.Fatalf("Frame(%d) = %v", i, err)
				}
				if sum(l) != want[i] {
					t.Errorf("Frame(%d) is not the frame %d that Read gives", i, i)
				}
				f.cache.mu.Lock()
				held := f.cache.bytes
				f.cache.mu.Unlock()
				if held > small {
					t.Fatalf("the cache holds %d bytes, want at most %d", held, small)
				}
			}
			if _, err := f.Frame(context.Background(), len(want)); err == nil {
				t.Errorf("Frame(%d) of %d frames gives no error", len(want), len(want))
			}
		})
	}
}
