package logbook

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"padside/fault"
)

// holds compares a folder's whole content.
func holds(t *testing.T, dir string, want map[string]string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != len(want) {
		t.Errorf("%s holds %v, want %v", dir, entries, want)
	}
	for name, text := range want {
		if got, err := os.ReadFile(filepath.Join(dir, name)); err != nil || string(got) != text {
			t.Errorf("%s = %q (%v), want %q", name, got, err, text)
		}
	}
}

func TestWriteAtomic(t *testing.T) {
	t.Parallel()
	root := t.TempDir()
	dir := filepath.Join(root, "deep", "launch")
	if err := WriteAtomic(dir, map[string][]byte{"a.txt": []byte("1"), "b.txt": []byte("2")}); err != nil {
		t.Fatal(err)
	}
	holds(t, dir, map[string]string{"a.txt": "1", "b.txt": "2"})
	if left, _ := os.ReadDir(filepath.Dir(dir)); len(left) != 1 {
		t.Errorf("temporary folders are left: %v", left)
	}
	if err := WriteAtomic(dir, map[string][]byte{"a.txt": []byte("3"), "c.txt": nil}); err != nil {
		t.Fatal(err)
	}
	holds(t, dir, map[string]string{"a.txt": "3", "b.txt": "2", "c.txt": ""})
}

// TestWriteAtomicRefuses: what cannot be written whole changes nothing and leaves nothing.
func TestWriteAtomicRefuses(t *testing.T) {
	t.Parallel()
	root := t.TempDir()
	file := filepath.Join(root, "file")
	if err := os.WriteFile(file, []byte("kept"), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		dir, file string
	}{
		"a file in the way":       {file, "a.txt"},
		"a file above":            {filepath.Join(file, "deep"), "a.txt"},
		"a name that leads out":   {filepath.Join(root, "new"), "../a.txt"},
		"a name with a folder":    {filepath.Join(root, "new"), "x/a.txt"},
		"a name that is a folder": {filepath.Join(root, "new"), "."},
	} {
		t.Run(name, func(t *testing.T) {
			err := WriteAtomic(c.dir, map[string][]byte{c.file: []byte("x"), "other.txt": nil})
			var fe *fault.Error
			if !errors.As(err, &fe) || fe.Hint == "" {
				t.Errorf("error = %v, want a fault.Error with a hint", err)
			}
			whole := Whole{Files: map[string][]byte{c.file: []byte("x")}, Last: "last.txt", Seal: func(map[string]string) ([]byte, error) { return nil, nil }}
			if err := whole.Write(c.dir); !errors.As(err, &fe) || fe.Hint == "" {
				t.Errorf("a whole result: error = %v, want a fault.Error with a hint", err)
			}
			holds(t, root, map[string]string{"file": "kept"})
		})
	}
}
