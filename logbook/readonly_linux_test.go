package logbook

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
)

// TestReadOnly opens a logbook as a user who may not write into it: an ordinary one, or, where the tests run as root, to whom nothing is
// read-only, one whose rights this thread takes on.
func TestReadOnly(t *testing.T) {
	for what, spoil := range map[string]func(t *testing.T, dir string){
		"locked before":    func(*testing.T, string) {},
		"never locked":     func(t *testing.T, dir string) { remove(t, filepath.Join(dir, lockName)) },
		"never a logbook":  func(t *testing.T, dir string) { remove(t, filepath.Join(dir, marker)) },
		"no setups folder": func(t *testing.T, dir string) { remove(t, filepath.Join(dir, setupsDir)) },
	} {
		t.Run(what, func(t *testing.T) {
			b, _ := newBook(t)
			dir := b.Dir()
			b.Close()
			spoil(t, dir)
			if err := os.Chmod(dir, 0o555); err != nil {
				t.Fatal(err)
			}
			defer os.Chmod(dir, 0o755)
			for up := filepath.Dir(dir); strings.HasPrefix(up, os.TempDir()+string(filepath.Separator)); up = filepath.Dir(up) {
				if err := os.Chmod(up, 0o755); err != nil {
					t.Fatal(err)
				}
			}
			_, err := openAsNobody(t, dir)
			if !errors.Is(err, ErrReadOnly) {
				t.Errorf("Open gave %v, want ErrReadOnly", err)
			}
		})
	}
}

func remove(t *testing.T, path string) {
	t.Helper()
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
}

func openAsNobody(t *testing.T, dir string) (b *Logbook, err error) {
	done := make(chan bool)
	go func() {
		defer close(done)
		if os.Getuid() == 0 {
			runtime.LockOSThread() // and never unlocked: the thread ends with its rights
			const nobody = 65534
			if e := syscall.Setfsuid(nobody); e != nil {
				t.Error(e)
				return
			}
		}
		b, err = Open(dir, Options{})
	}()
	<-done
	if b != nil {
		b.Close()
	}
	return b, err
}
