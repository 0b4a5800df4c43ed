package footage

import (
	"context"
	"errors"
	"path/filepath"
	"testing"

	"padside/fault"
)

// TestCoverIsNoVideo: a picture attached to a file as its cover is not what was filmed.
func TestCoverIsNoVideo(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	cover, song := filepath.Join(dir, "cover.png"), filepath.Join(dir, "song.m4a")
	ffmpeg(t, "-f", "lavfi", "-i", "color=red:s=64x64", "-frames:v", "1", cover)
	ffmpeg(t, "-f", "lavfi", "-i", "sine=d=0.2", "-i", cover, "-map", "0", "-map", "1", "-c:v", "copy", "-disposition:v", "attached_pic", song)
	_, err := Open(context.Background(), song, Options{})
	var e *fault.Error
	if !errors.As(err, &e) || e.Kind != fault.Request || e.Hint == "" {
		t.Errorf("Open(sound with a cover) = %v, want a request error with a hint", err)
	}
}
