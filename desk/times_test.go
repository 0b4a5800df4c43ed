package desk

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"padside/fault"
)

// TestSlowedFootageIsNotMeasuredUnasked: a phone's slow motion whose tag contradicts its stamps is refused until the launch file says
// which of the two holds.
func TestSlowedFootageIsNotMeasuredUnasked(t *testing.T) {
	t.Parallel()
	clip := realFile(t, "containers/sample_android_slow_motion.mp4")
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg is not installed")
	}
	for _, c := range []struct {
		name, time string
		refused    bool
	}{
		{"nothing said", "", true},
		{"the tag is right", "[footage.time]\nbasis = \"rate\"\nrate = \"120 Hz\"\n", false},
		{"the stamps are right", "[footage.time]\nbasis = \"container\"\n", false},
	} {
		path := filepath.Join(t.TempDir(), "launch.toml")
		text := fmt.Sprintf("format = 1\n[footage]\npath = %q\n%s[scale]\nkind = \"length\"\nlength = \"1 m\"\nends = [{ x = 1.0, y = 1.0 }, { x = 1.0, y = 90.0 }]\n", filepath.ToSlash(clip), c.time)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		_, err := Measure(context.Background(), path, Options{})
		var f *fault.Error
		about := errors.As(err, &f) && f.Kind == fault.Request && strings.Contains(f.Message, "tag") && strings.Contains(f.Hint, "basis")
		if about != c.refused {
			t.Errorf("%s: refused because of the tag: %v (%v)", c.name, about, err)
		}
	}
}
