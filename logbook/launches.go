package logbook

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"padside/fault"
)

// slug is a folder's name for a title: small letters, digits and dashes.
func slug(title string) string {
	var b strings.Builder
	dash := false
	for _, r := range strings.ToLower(title) {
		if r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)) || r > unicode.MaxASCII && unicode.IsLetter(r) {
			if dash && b.Len() > 0 {
				b.WriteByte('-')
			}
			dash = false
			b.WriteRune(r)
		} else {
			dash = true
		}
		if b.Len() > 48 {
			break
		}
	}
	if name := b.String(); name != "" && !device(name) {
		return name
	}
	return strings.TrimSuffix("launch-"+b.String(), "-")
}

// device says whether Windows keeps a name for a device: a folder of that name could not be opened there.
func device(name string) bool {
	switch name {
	case "con", "prn", "aux", "nul":
		return true
	}
	return len(name) == 4 && (strings.HasPrefix(name, "com") || strings.HasPrefix(name, "lpt")) && name[3] >= '0' && name[3] <= '9'
}

// free is a name like the one wanted that dir does not hold yet.
func (b *Logbook) free(dir, want string) string {
	name := want
	for i := 2; ; i++ {
		if _, err := b.root.Lstat(filepath.Join(dir, name)); errors.Is(err, fs.ErrNotExist) {
			return name
		}
		name = fmt.Sprintf("%s-%d", want, i)
	}
}

// New adds a launch. Its name comes from the title; text is the launch file for a launch in that folder.
func (b *Logbook) New(title string, text func(dir string) []byte) (name string, err error) {
	b.folders.Lock()
	defer b.folders.Unlock()
	name = b.free(LaunchesDir, slug(title))
	t := text(b.Folder(name))
	if _, err := ParseDraft(t, b.LaunchPath(name)); err != nil {
		return "", err
	}
	return name, WriteAtomic(b.Folder(name), map[string][]byte{LaunchName: t})
}

// Trash puts a launch aside, history and all; Restore takes it back.
func (b *Logbook) Trash(name string) error {
	b.folders.Lock()
	defer b.folders.Unlock()
	if err := b.known(name); err != nil {
		return err
	}
	if err := b.root.MkdirAll(trashDir, 0o755); err != nil {
		return b.stuck(err)
	}
	t := b.track(name)
	t.mu.Lock() // no edit is under way
	defer t.mu.Unlock()
	t.h = nil
	to := b.free(trashDir, name)
	if err := b.root.Rename(filepath.Join(LaunchesDir, name), filepath.Join(trashDir, to)); err != nil {
		return b.stuck(err)
	}
	b.dated(to)
	syncFolder(filepath.Join(b.dir, trashDir))
	syncFolder(filepath.Join(b.dir, LaunchesDir))
	return nil
}

// Restore takes a launch out of the trash: the one of this name put there last.
func (b *Logbook) Restore(name string) error {
	b.folders.Lock()
	defer b.folders.Unlock()
	unknown := &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: fmt.Sprintf("there is no launch %q in the trash", name), Hint: "look into the folder " + trashDir}
	if !plain(name) {
		return unknown
	}
	from := ""
	for i := 1; ; i++ {
		n := name
		if i > 1 {
			n = fmt.Sprintf("%s-%d", name, i)
		}
		if _, err := b.root.Stat(filepath.Join(trashDir, n, LaunchName)); err != nil {
			break
		}
		from = n
	}
	if from == "" {
		return unknown
	}
	if _, err := b.root.Lstat(filepath.Join(LaunchesDir, name)); err == nil {
		return fault.Requestf("rename that one first", "there is another launch %q now", name)
	}
	if err := b.root.Rename(filepath.Join(trashDir, from), filepath.Join(LaunchesDir, name)); err != nil {
		return b.stuck(err)
	}
	syncFolder(filepath.Join(b.dir, LaunchesDir))
	return nil
}

func (b *Logbook) stuck(err error) error {
	return fault.Failedf(err, "check the folder's permissions and the room on its disk", "change the logbook %s: %v", b.dir, err)
}

// ImportDir makes a folder inside the logbook for footage that is being received.
func (b *Logbook) ImportDir() (string, error) {
	in := filepath.Join(b.dir, incomingDir)
	if err := os.MkdirAll(in, 0o755); err != nil {
		return "", b.stuck(err)
	}
	dir, err := os.MkdirTemp(in, incomingPrefix+"*")
	if err != nil {
		return "", b.stuck(err)
	}
	return dir, nil
}

// Adopt moves received footage to where it stays, in a folder of its own, and returns that.
func (b *Logbook) Adopt(dir, title string) (string, error) {
	b.folders.Lock()
	defer b.folders.Unlock()
	rel, err := filepath.Rel(b.dir, dir)
	if err != nil || filepath.Dir(rel) != incomingDir {
		return "", fault.Failedf(err, "", "adopt footage from %s, which is not in %s", dir, incomingDir)
	}
	if err := b.root.MkdirAll(footageDir, 0o755); err != nil {
		return "", b.stuck(err)
	}
	to := filepath.Join(footageDir, b.free(footageDir, slug(title)))
	if err := b.root.Rename(rel, to); err != nil {
		return "", b.stuck(err)
	}
	if err := os.Chmod(filepath.Join(b.dir, to), 0o755); err != nil {
		return "", b.stuck(err)
	}
	syncFolder(filepath.Join(b.dir, footageDir))
	return filepath.Join(b.dir, to), nil
}
