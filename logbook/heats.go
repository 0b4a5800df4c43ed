package logbook

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"time"

	"padside/fault"
)

// Names of heats in a logbook's folder.
const (
	heatsDir   = "heats"
	heatName   = "heat.toml"
	heatBefore = "heat-before.toml"
)

// HeatNames lists the heats, the one whose file changed last first.
func (b *Logbook) HeatNames() ([]string, error) {
	entries, err := fs.ReadDir(b.root.FS(), heatsDir)
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
		if info, err := b.root.Stat(filepath.Join(heatsDir, e.Name(), heatName)); err == nil {
			names, at[e.Name()] = append(names, e.Name()), info.ModTime()
		}
	}
	slices.SortStableFunc(names, func(x, y string) int { return at[y].Compare(at[x]) })
	return names, nil
}

// HeatPath is where the file of a heat lies.
func (b *Logbook) HeatPath(name string) string { return filepath.Join(b.dir, heatsDir, name, heatName) }

// HeatText is the text of a heat's file.
func (b *Logbook) HeatText(name string) ([]byte, error) {
	if plain(name) {
		text, err := b.root.ReadFile(filepath.Join(heatsDir, name, heatName))
		if err == nil || !errors.Is(err, fs.ErrNotExist) {
			return text, err
		}
	}
	return nil, &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: fmt.Sprintf("there is no heat %q", name), Hint: "the heats page shows what there is"}
}

// NewHeat adds a heat. Its name comes from the title; text is the heat file for a heat in that place.
func (b *Logbook) NewHeat(title string, text func(path string) []byte) (name string, err error) {
	b.folders.Lock()
	defer b.folders.Unlock()
	if err := b.holding(); err != nil {
		return "", err
	}
	if err := b.root.MkdirAll(heatsDir, 0o755); err != nil {
		return "", b.stuck(err)
	}
	name = b.free(heatsDir, slug(title))
	t := text(b.HeatPath(name))
	if _, err := ParseHeat(t, b.HeatPath(name)); err != nil {
		return "", err
	}
	return name, WriteAtomic(filepath.Dir(b.HeatPath(name)), map[string][]byte{heatName: t})
}

// PutHeat replaces a heat's file, where it still reads as before. What it was is kept beside it.
func (b *Logbook) PutHeat(name string, before, text []byte) error {
	b.folders.Lock()
	defer b.folders.Unlock()
	if err := b.holding(); err != nil {
		return err
	}
	now, err := b.HeatText(name)
	if err != nil {
		return err
	}
	if !bytes.Equal(now, before) {
		return &fault.Error{Kind: fault.Request, Cause: ErrConflict, Message: fmt.Sprintf("the heat %s was changed elsewhere meanwhile", name), Hint: "look at it as it is now, then change it again"}
	}
	if _, err := ParseHeat(text, b.HeatPath(name)); err != nil {
		return err
	}
	return WriteAtomic(filepath.Dir(b.HeatPath(name)), map[string][]byte{heatName: text, heatBefore: now})
}

// TrashHeat puts a heat aside: into the trash, as heat-NAME.
func (b *Logbook) TrashHeat(name string) error {
	b.folders.Lock()
	defer b.folders.Unlock()
	if err := b.holding(); err != nil {
		return err
	}
	if _, err := b.HeatText(name); err != nil {
		return err
	}
	if err := b.root.MkdirAll(trashDir, 0o755); err != nil {
		return b.stuck(err)
	}
	if err := b.root.Rename(filepath.Join(heatsDir, name), filepath.Join(trashDir, b.free(trashDir, "heat-"+name))); err != nil {
		return b.stuck(err)
	}
	syncFolder(filepath.Join(b.dir, trashDir))
	syncFolder(filepath.Join(b.dir, heatsDir))
	return nil
}

// LaunchAt is the name of the launch whose file lies at a path; false where that is none of this logbook's.
func (b *Logbook) LaunchAt(path string) (name string, ok bool) {
	rel, err := filepath.Rel(filepath.Join(b.dir, launchesDir), path)
	if err != nil || !filepath.IsLocal(rel) || filepath.Base(rel) != launchName {
		return "", false
	}
	name = filepath.Dir(rel)
	return name, plain(name)
}

// LaunchFrom is how a heat's file names a launch of the logbook.
func LaunchFrom(name string) string { return "../../" + launchesDir + "/" + name + "/" + launchName }

// Beside resolves a path that a heat's file names.
func Beside(heatPath, given string) string { return resolve(heatPath, given) }
