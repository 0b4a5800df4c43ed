package logbook

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"padside/disk"
	"padside/fault"
)

// Aside is something in the trash.
type Aside struct {
	Entry string    // its folder's name there
	What  string    // "launch", "heat" or "shoot"
	Title string    // as its file has it; else its name
	At    time.Time // when it was put there
}

// Trashed lists what lies in the trash, what was put there last first. Folders of something else are passed over.
func (b *Logbook) Trashed() ([]Aside, error) {
	entries, err := fs.ReadDir(b.root.FS(), trashDir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fault.Failedf(err, "", "read the trash of the logbook %s: %v", b.dir, err)
	}
	list := []Aside{}
	for _, e := range entries {
		if a, ok := b.aside(e.Name()); ok {
			list = append(list, a)
		}
	}
	slices.SortStableFunc(list, func(x, y Aside) int { return cmp.Or(y.At.Compare(x.At), cmp.Compare(x.Entry, y.Entry)) })
	return list, nil
}

// aside looks at one folder of the trash.
func (b *Logbook) aside(entry string) (a Aside, ok bool) {
	if !plain(entry) {
		return a, false
	}
	for _, s := range []shelf{{what: "launch", file: LaunchName}, heats, shoots} {
		path := filepath.Join(trashDir, entry)
		text, err := disk.ReadIn(b.root, filepath.Join(path, s.file), longestFile)
		if err != nil {
			continue
		}
		a = Aside{Entry: entry, What: s.what, Title: strings.TrimPrefix(entry, s.what+"-")}
		if root, err := parseTree(s.file, text); err == nil {
			if v := root.get("title"); v != nil && v.text != "" {
				a.Title = v.text
			}
		}
		if info, err := b.root.Stat(path); err == nil {
			a.At = info.ModTime()
		}
		return a, true
	}
	return a, false
}

// dated notes on a folder of the trash when it was put there. Where that cannot be written, it reads as when the folder last changed.
func (b *Logbook) dated(entry string) {
	now := time.Now()
	_ = b.root.Chtimes(filepath.Join(trashDir, entry), now, now)
}

// TakeBack takes something out of the trash by its folder's name there, under its old name or, where that is taken now, one like it.
func (b *Logbook) TakeBack(entry string) (a Aside, name string, err error) {
	b.folders.Lock()
	defer b.folders.Unlock()
	if err := b.holding(); err != nil {
		return a, "", err
	}
	a, ok := b.aside(entry)
	if !ok {
		return a, "", &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: fmt.Sprintf("there is no %q in the trash", entry), Hint: "look into the folder " + trashDir}
	}
	dir, name := LaunchesDir, entry
	for _, s := range []shelf{heats, shoots} {
		if s.what == a.What {
			dir, name = s.dir, strings.TrimPrefix(entry, s.what+"-")
		}
	}
	if err := b.root.MkdirAll(dir, 0o755); err != nil {
		return a, "", b.stuck(err)
	}
	name = b.free(dir, name)
	if err := b.root.Rename(filepath.Join(trashDir, entry), filepath.Join(dir, name)); err != nil {
		return a, "", b.stuck(err)
	}
	syncFolder(filepath.Join(b.dir, dir))
	syncFolder(filepath.Join(b.dir, trashDir))
	return a, name, nil
}
