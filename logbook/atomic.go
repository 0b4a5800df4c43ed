package logbook

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"syscall"
	"time"

	"padside/fault"
)

// tempPrefix begins the names of files and folders that are not whole yet.
const tempPrefix = ".padside-"

// WriteAtomic writes files (plain name to content) into dir. Where dir does not exist, they are
// written into a temporary folder beside it that then takes its name: the folder appears whole
// or not at all. Where it does, all are complete and synced under temporary names before the
// first takes its place, so that a crash or a full disk leaves each file as it was or whole.
func WriteAtomic(dir string, files map[string][]byte) error {
	if err := plainNames(dir, files); err != nil {
		return err
	}
	if _, err := os.Lstat(dir); errors.Is(err, fs.ErrNotExist) {
		if err := writeFresh(dir, files); err != nil {
			return unwritten(dir, err)
		}
		return nil
	}
	if err := writeInto(dir, files); err != nil {
		return unwritten(dir, err)
	}
	return nil
}

func plainNames(dir string, files map[string][]byte) error {
	for name := range files {
		if name == "" || name != filepath.Base(name) || !filepath.IsLocal(name) || name == "." {
			return unwritten(dir, fmt.Errorf("%q is no plain file name", name))
		}
	}
	return nil
}

// WriteFileAtomic lets write fill a temporary file beside path, of the same ending, syncs it and puts it in path's place: the file
// is whole or as it was before. The folder is made when missing. An error of write comes back as it is.
func WriteFileAtomic(path string, write func(temp string) error) error {
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return unwritten(dir, err)
	}
	f, err := os.CreateTemp(dir, tempPrefix+"*"+filepath.Ext(path))
	if err != nil {
		return unwritten(dir, err)
	}
	temp := f.Name()
	defer os.Remove(temp) // gone already when renamed
	if err := f.Close(); err != nil {
		return unwritten(dir, err)
	}
	if err := write(temp); err != nil {
		return err
	}
	if err := settle(temp); err != nil {
		return unwritten(dir, err)
	}
	if err := replace(temp, path); err != nil {
		return unwritten(dir, err)
	}
	syncFolder(dir)
	return nil
}

// CanWrite says, before the work is done, whether WriteFileAtomic could put a file at path. It leaves nothing behind.
func CanWrite(path string) error {
	dir := filepath.Dir(path)
	there := dir
	for {
		info, err := os.Stat(there)
		if err == nil && !info.IsDir() {
			return unwritten(dir, fmt.Errorf("%s is no folder", there))
		}
		if up := filepath.Dir(there); err != nil && up != there {
			there = up
			continue
		}
		break
	}
	f, err := os.CreateTemp(there, tempPrefix+"*")
	if err != nil {
		return unwritten(dir, err)
	}
	f.Close()
	return os.Remove(f.Name())
}

// settle syncs a file that another program wrote and lets everybody read it, as writeTemp does.
func settle(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	err = f.Sync()
	if os.PathSeparator == '/' {
		err = errors.Join(err, f.Chmod(0o644))
	}
	return errors.Join(err, f.Close())
}

// unwritten says that nothing was written into a folder, and why.
func unwritten(dir string, err error) error {
	cause := err
	if readOnly(err) {
		cause = errors.Join(ErrReadOnly, err)
	}
	return &fault.Error{Kind: fault.Request, Message: fmt.Sprintf("cannot write into %s: %v", dir, err),
		Hint: "choose a folder you may write to, with room on its disk", Cause: cause}
}

// readOnly says whether writing failed because it is not allowed.
func readOnly(err error) bool {
	return errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS)
}

// writeFresh fills a temporary folder beside dir and renames it.
func writeFresh(dir string, files map[string][]byte) error {
	parent := filepath.Dir(filepath.Clean(dir))
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	temp, err := os.MkdirTemp(parent, tempPrefix+"*")
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
		if err := replace(temps[i], filepath.Join(dir, name)); err != nil {
			return err
		}
	}
	syncFolder(dir)
	return nil
}

// replace renames a file over another. Windows refuses that while a program has the other open, a virus scanner for a moment, say.
func replace(from, to string) error {
	const tries, pause = 10, 20 * time.Millisecond
	err := os.Rename(from, to)
	for i := 0; err != nil && runtime.GOOS == "windows" && i < tries; i++ {
		time.Sleep(pause)
		err = os.Rename(from, to)
	}
	return err
}

func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync() // some systems cannot sync a folder; the renames stand all the same
		d.Close()
	}
}

func writeTemp(dir string, content []byte) (name string, err error) {
	f, err := os.CreateTemp(dir, tempPrefix+"*")
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
