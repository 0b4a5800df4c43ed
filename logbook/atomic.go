package logbook

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"padside/fault"
)

// WriteAtomic writes files (plain name to content) into dir. Where dir does not exist, they are
// written into a temporary folder beside it that then takes its name: the folder appears whole
// or not at all. Where it does, all are complete and synced under temporary names before the
// first takes its place, so that a crash or a full disk leaves each file as it was or whole.
func WriteAtomic(dir string, files map[string][]byte) error {
	refuse := func(err error) error {
		return &fault.Error{Kind: fault.Request, Message: fmt.Sprintf("cannot write into %s: %v", dir, err),
			Hint: "choose a folder you may write to, with room on its disk", Cause: err}
	}
	for name := range files {
		if name == "" || name != filepath.Base(name) || !filepath.IsLocal(name) || name == "." {
			return refuse(fmt.Errorf("%q is no plain file name", name))
		}
	}
	if _, err := os.Lstat(dir); errors.Is(err, fs.ErrNotExist) {
		if err := writeFresh(dir, files); err != nil {
			return refuse(err)
		}
		return nil
	}
	if err := writeInto(dir, files); err != nil {
		return refuse(err)
	}
	return nil
}

// writeFresh fills a temporary folder beside dir and renames it.
func writeFresh(dir string, files map[string][]byte) error {
	parent := filepath.Dir(filepath.Clean(dir))
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	temp, err := os.MkdirTemp(parent, ".padside-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp) // gone already when renamed
	if err := os.Chmod(temp, 0o755); err != nil {
		return err
	}
	if err := writeInto(temp, files); err != nil {
		return err
	}
	if err := os.Rename(temp, dir); err != nil {
		return err
	}
	syncFolder(parent)
	return nil
}

// writeInto writes files into a folder that exists.
func writeInto(dir string, files map[string][]byte) error {
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
			return err
		}
	}
	for i, name := range names {
		if err := os.Rename(temps[i], filepath.Join(dir, name)); err != nil {
			return err
		}
	}
	syncFolder(dir)
	return nil
}

func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync() // some systems cannot sync a folder; the renames stand all the same
		d.Close()
	}
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
