//go:build unix

package disk

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// TestRead: what is no regular file, or too large, is refused at once, by its name and within a folder.
func TestRead(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	if err := errors.Join(os.WriteFile(in("text"), []byte("12345"), 0o644), syscall.Mkfifo(in("pipe"), 0o644), os.Mkdir(in("folder"), 0o755),
		os.Symlink("/dev/zero", in("device")), os.Symlink("text", in("link")), os.Truncate(in("text"), 5)); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(in("huge"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(in("huge"), 1<<40); err != nil {
		t.Skipf("no sparse files here: %v", err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	for name, want := range map[string]error{"text": nil, "link": nil, "pipe": ErrNotRegular, "folder": ErrFolder, "device": ErrNotRegular, "huge": ErrTooLarge, "none": fs.ErrNotExist} {
		b, err := Read(in(name), 5)
		if !errors.Is(err, want) || want == nil && string(b) != "12345" {
			t.Errorf("Read(%s) = %q, %v; want %v", name, b, err, want)
		}
		b, err = ReadIn(root, name, 5)
		if name == "device" { // it leads out of the folder
			if err == nil {
				t.Errorf("ReadIn(%s) = %q", name, b)
			}
			continue
		}
		if !errors.Is(err, want) || want == nil && string(b) != "12345" {
			t.Errorf("ReadIn(%s) = %q, %v; want %v", name, b, err, want)
		}
	}
	if _, err := Read(in("text"), 4); !errors.Is(err, ErrTooLarge) {
		t.Errorf("five bytes of four: %v", err)
	}
	if err := os.Symlink("/etc/hostname", in("out")); err != nil {
		t.Fatal(err)
	}
	if b, err := ReadIn(root, "out", 1<<20); err == nil {
		t.Errorf("a link out of the folder was followed: %q", b)
	}
}
