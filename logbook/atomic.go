package logbook

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"padside/fault"
)

// WriteAtomic writes files (name to content) into dir, which is made when missing. All are
// complete and synced under temporary names before the first takes its place, so that a crash
// or a full disk leaves every file either as it was or whole.
func WriteAtomic(dir string, files map[string][]byte) error {
	refuse := func(err error) error {
		return &fault.Error{Kind: fault.Request, Message: fmt.Sprintf("cannot write into %s: %v", dir, err),
			Hint: "choose a folder you may write to, with room on its disk", Cause: err}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return refuse(err)
	}
	names := slices.Sorted(maps.Keys(files))
	var temps []string
	defer func() {
		for _, t := range temps {
			os.Remove(t) // gone already when renamed
		}
	}()
	for _, name := range names {
		t, err := writeTemp(dir, files[name])
		if t != "" {
			temps = append(temps, t)
		}
		if err != nil {
			return refuse(err)
		}
	}
	for i, name := range names {
		if err := os.Rename(temps[i], filepath.Join(dir, name)); err != nil {
			return refuse(err)
		}
	}
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync() // some systems cannot sync a folder; the renames stand all the same
		d.Close()
	}
	return nil
}

func writeTemp(dir string, content []byte) (name string, err error) {
	f, err := os.CreateTemp(dir, ".padside-*")
	if err != nil {
		return "", err
	}
	_, err = f.Write(content)
	if e := f.Sync(); err == nil {
		err = e
	}
	if e := f.Chmod(0o644); err == nil && os.PathSeparator == '/' {
		err = e
	}
	if e := f.Close(); err == nil {
		err = e
	}
	return f.Name(), err
}
