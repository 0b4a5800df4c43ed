package logbook

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"time"

	"padside/disk"
	"padside/fault"
)

// shelf is a kind of small text file that a logbook holds by name, each in a folder of its own: heats, shoots.
type shelf struct {
	what   string // "heat"
	dir    string // of all, in the logbook
	file   string // of each, in its folder
	before string // what it was before the last change, beside it
	check  func(text []byte, path string) error
}

var (
	heats  = shelf{"heat", "heats", "heat.toml", "heat-before.toml", func(text []byte, path string) error { _, err := ParseHeat(text, path); return err }}
	shoots = shelf{"shoot", "shoots", "shoot.toml", "shoot-before.toml", func(text []byte, path string) error { _, err := ParseShoot(text, path); return err }}
)

// names lists what stands on a shelf, the one whose file changed last first.
func (b *Logbook) names(s shelf) ([]string, error) {
	entries, err := fs.ReadDir(b.root.FS(), s.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fault.Failedf(err, "", "read the logbook %s: %v", b.dir, err)
	}
	at := map[string]time.Time{}
	var names []string
	for _, e := range entries {
		if !e.IsDir() || !plain(e.Name()) {
			continue
		}
		if info, err := b.root.Stat(filepath.Join(s.dir, e.Name(), s.file)); err == nil {
			names, at[e.Name()] = append(names, e.Name()), info.ModTime()
		}
	}
	slices.SortStableFunc(names, func(x, y string) int { return at[y].Compare(at[x]) })
	return names, nil
}

// path is where a file of a shelf lies.
func (b *Logbook) path(s shelf, name string) string { return filepath.Join(b.dir, s.dir, name, s.file) }

// text is the text of a file of a shelf.
func (b *Logbook) text(s shelf, name string) ([]byte, error) {
	if plain(name) {
		text, err := disk.ReadIn(b.root, filepath.Join(s.dir, name, s.file), longestFile)
		if err == nil || !errors.Is(err, fs.ErrNotExist) {
			return text, err
		}
	}
	return nil, &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: fmt.Sprintf("there is no %s %q", s.what, name), Hint: fmt.Sprintf("the %s page shows what there is", s.dir)}
}

// add puts a file on a shelf. Its name comes from the title; text is the file for a place.
func (b *Logbook) add(s shelf, title string, text func(path string) []byte) (name string, err error) {
	b.folders.Lock()
	defer b.folders.Unlock()
	if err := b.holding(); err != nil {
		return "", err
	}
	if err := b.root.MkdirAll(s.dir, 0o755); err != nil {
		return "", b.stuck(err)
	}
	name = b.free(s.dir, slug(title))
	path := b.path(s, name)
	t := text(path)
	if err := s.check(t, path); err != nil {
		return "", err
	}
	return name, WriteAtomic(filepath.Dir(path), map[string][]byte{s.file: t})
}

// put replaces a file of a shelf, where it still reads as before. What it was is kept beside it.
func (b *Logbook) put(s shelf, name string, before, text []byte) error {
	b.folders.Lock()
	defer b.folders.Unlock()
	if err := b.holding(); err != nil {
		return err
	}
	now, err := b.text(s, name)
	if err != nil {
		return err
	}
	if !bytes.Equal(now, before) {
		return &fault.Error{Kind: fault.Request, Cause: ErrConflict, Message: fmt.Sprintf("the %s %s was changed elsewhere meanwhile", s.what, name), Hint: "look at it as it is now, then change it again"}
	}
	path := b.path(s, name)
	if err := s.check(text, path); err != nil {
		return err
	}
	return WriteAtomic(filepath.Dir(path), map[string][]byte{s.file: text, s.before: now})
}

// putAside moves what stands under a name into the trash, as heat-NAME or shoot-NAME.
func (b *Logbook) putAside(s shelf, name string) error {
	b.folders.Lock()
	defer b.folders.Unlock()
	if err := b.holding(); err != nil {
		return err
	}
	if _, err := b.text(s, name); err != nil {
		return err
	}
	if err := b.root.MkdirAll(trashDir, 0o755); err != nil {
		return b.stuck(err)
	}
	to := b.free(trashDir, s.what+"-"+name)
	if err := b.root.Rename(filepath.Join(s.dir, name), filepath.Join(trashDir, to)); err != nil {
		return b.stuck(err)
	}
	b.dated(to)
	syncFolder(filepath.Join(b.dir, trashDir))
	syncFolder(filepath.Join(b.dir, s.dir))
	return nil
}
