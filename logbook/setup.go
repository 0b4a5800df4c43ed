package logbook

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"padside/disk"
	"padside/fault"
)

// A setup is a file setups/NAME.toml with the sections of a launch file that launches of one placement of camera and reference
// share: [footage.time], [scale] and [camera]. A launch that names the setup and lacks one of these sections takes it from there; one
// that has the section keeps its own.

// sharedSections are what a setup may hold.
var sharedSections = [...]string{"scale", "camera"}

// parseSetup reads a setup file.
func parseSetup(data []byte, name string) (*table, error) {
	root, err := parseTree(name, data)
	if err != nil {
		return nil, err
	}
	r := &reader{file: name}
	var ignored Launch
	r.known(root, "", "format", "footage", "scale", "camera")
	if s := r.section(root, "footage"); s != nil {
		r.known(s, "footage", "time")
		if m := r.section(s, "time"); m != nil {
			r.time(m, &ignored.Time)
		}
	}
	if s := r.section(root, "scale"); s != nil {
		r.scale(s, &ignored.Scale)
	}
	if s := r.section(root, "camera"); s != nil {
		r.camera(s, &ignored.Camera)
	}
	return root, r.err
}

// adopt takes over the sections of a setup that the launch lacks.
func (t *table) adopt(setup *table) {
	for _, key := range sharedSections {
		if v := setup.get(key); v != nil && t.get(key) == nil {
			t.add(entry{key, 0, v})
		}
	}
	mine, theirs := t.get("footage"), setup.get("footage")
	if mine == nil || mine.table == nil || theirs == nil || theirs.table == nil {
		return
	}
	if v := theirs.table.get("time"); v != nil && mine.table.get("time") == nil {
		mine.table.add(entry{"time", 0, v})
	}
}

// setupOf finds the setup that a launch file in a logbook's folder names; nil where there is none.
func setupOf(launchPath, setup string) (*table, error) {
	if !plain(setup) {
		return nil, nil
	}
	whole, err := filepath.Abs(launchPath)
	if err != nil || filepath.Base(filepath.Dir(filepath.Dir(whole))) != LaunchesDir {
		return nil, nil // it lies in no logbook
	}
	name := filepath.Join(setupsDir, setup+".toml")
	root, err := os.OpenRoot(filepath.Join(filepath.Dir(launchPath), "..", ".."))
	if err != nil {
		return nil, nil // it lies in no logbook yet
	}
	defer root.Close()
	data, err := disk.ReadIn(root, name, longestFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, &fault.Error{Kind: fault.Request, Cause: err, Message: fmt.Sprintf("cannot read the setup %s: %s", name, oneLine(err.Error())),
			Hint: "a setup is a short text within its logbook; check the file and its permissions"}
	}
	return parseSetup(data, name)
}

// Resolve reads a launch with what its setup adds. A launch without a scale yet is read too: its Scale.Kind is empty.
func (b *Logbook) Resolve(name string) (*Launch, error) {
	s, err := b.State(name)
	if err != nil {
		return nil, err
	}
	return b.ResolveText(name, s.Text)
}

// ResolveText does the same for a text that is not the launch's yet.
func (b *Logbook) ResolveText(name string, text []byte) (*Launch, error) {
	return ParseDraft(text, b.LaunchPath(name))
}

// SetupText is the text of a setup, nil where there is none.
func (b *Logbook) SetupText(setup string) []byte {
	if !plain(setup) {
		return nil
	}
	data, err := disk.ReadIn(b.root, filepath.Join(setupsDir, setup+".toml"), longestFile)
	if err != nil {
		return nil
	}
	return data
}

// PutSetup writes a setup, which must be one that launches can use. What it was is kept beside it.
func (b *Logbook) PutSetup(setup string, text []byte) error {
	if !plain(setup) {
		return fault.Requestf("use letters, digits and dashes", "%q cannot name a setup", setup)
	}
	if _, err := parseSetup(text, setup+".toml"); err != nil {
		return err
	}
	files := map[string][]byte{setup + ".toml": text}
	if before := b.SetupText(setup); before != nil && !bytes.Equal(before, text) {
		files[setup+"-before.toml"] = before
	}
	return WriteAtomic(filepath.Join(b.dir, setupsDir), files)
}

// SharedBy lists the launches that name a setup.
func (b *Logbook) SharedBy(setup string) ([]string, error) {
	names, err := b.Names()
	if err != nil {
		return nil, err
	}
	out := []string{}
	for _, n := range names {
		text, err := disk.ReadIn(b.root, filepath.Join(LaunchesDir, n, LaunchName), longestFile)
		if err != nil {
			continue // its own page says what is wrong with it
		}
		if l, err := ParseDraft(text, b.LaunchPath(n)); err == nil && l.Setup == setup {
			out = append(out, n)
		}
	}
	slices.Sort(out)
	return out, nil
}
