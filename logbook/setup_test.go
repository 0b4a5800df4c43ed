package logbook

import (
	"path/filepath"
	"strings"
	"testing"
)

// TestSetupOnlyInALogbook: the name of a setup means a file only where the launch lies in a logbook.
func TestSetupOnlyInALogbook(t *testing.T) {
	t.Parallel()
	const bare = "format = 1\nsetup = \"mast\"\n[footage]\npath = \"a.mp4\"\n"
	setup := "format = 1\n" + plainLaunch[strings.Index(plainLaunch, "[scale]"):]
	for folder, found := range map[string]bool{LaunchesDir: true, "club": false} {
		dir := t.TempDir()
		for path, text := range map[string]string{filepath.Join(dir, setupsDir, "mast.toml"): setup, filepath.Join(dir, folder, "heron", LaunchName): bare} {
			if err := WriteAtomic(filepath.Dir(path), map[string][]byte{filepath.Base(path): []byte(text)}); err != nil {
				t.Fatal(err)
			}
		}
		_, err := ReadLaunch(filepath.Join(dir, folder, "heron", LaunchName))
		if got := err == nil; got != found {
			t.Errorf("in %s/: the setup was found: %v, want %v (%v)", folder, got, found, err)
		}
	}
}
