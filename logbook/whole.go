package logbook

import (
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
)

// Whole is a result of several files in one folder that counts as a whole or not at all: one of them, the last, decides whether it is there. It holds
// the digests of the others (SHA-256, in hex), so that a reader notices those that are not of its result.
type Whole struct {
	Files map[string][]byte // plain names to content, all but the last
	Last  string
	Seal  func(digests map[string]string) ([]byte, error) // the content of the last, which holds the digests of the others

	between func() // called between what changes the folder, in tests
}

// Write puts the files into dir. Where dir does not exist, it appears with all of them. Where it does, all are complete and synced under temporary
// names first; then the old last goes, the others take their places, and the last follows: a process killed in between leaves no result, and never
// the last of one beside the others of another.
func (w Whole) Write(dir string) error {
	digests := map[string]string{}
	for name, content := range w.Files {
		digests[name] = digest(content)
	}
	last, err := w.Seal(digests)
	if err != nil {
		return err
	}
	all := maps.Clone(w.Files)
	all[w.Last] = last
	if err := plainNames(dir, all); err != nil {
		return err
	}
	write := w.replace
	if _, err := os.Lstat(dir); errors.Is(err, fs.ErrNotExist) {
		write = writeFresh
	}
	if err := write(dir, all); err != nil {
		return unwritten(dir, err)
	}
	return nil
}

// replace writes into a folder that exists.
func (w Whole) replace(dir string, all map[string][]byte) error {
	temps := map[string]string{}
	defer func() {
		for _, t := range temps {
			os.Remove(t) // gone already when renamed
		}
	}()
	names := slices.Sorted(maps.Keys(w.Files))
	for _, name := range append(names, w.Last) {
		t, err := writeTemp(dir, all[name])
		if t != "" {
			temps[name] = t
		}
		if err != nil {
			return err
		}
	}
	w.step()
	if err := os.Remove(filepath.Join(dir, w.Last)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	syncFolder(dir)
	w.step()
	for _, name := range names {
		if err := replace(temps[name], filepath.Join(dir, name)); err != nil {
			return err
		}
		w.step()
	}
	syncFolder(dir) // the last must not reach the disk before the others
	if err := replace(temps[w.Last], filepath.Join(dir, w.Last)); err != nil {
		return err
	}
	syncFolder(dir)
	w.step()
	return nil
}

func (w Whole) step() {
	if w.between != nil {
		w.between()
	}
}

// KeepWhole writes a result beside a launch file.
func (b *Logbook) KeepWhole(name string, w Whole) error {
	return b.keeping(name, w.Files, func(dir string) error { return w.Write(dir) })
}

// Together returns the content of files beside a launch file as they are at one instant: none is of another result that is being kept. Those that
// cannot be read are left out.
func (b *Logbook) Together(name string, files ...string) map[string][]byte {
	out := map[string][]byte{}
	if b.known(name) != nil {
		return out
	}
	t := b.track(name)
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, f := range files {
		if content, err := b.File(name, f); err == nil {
			out[f] = content
		}
	}
	return out
}
