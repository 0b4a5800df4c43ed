package logbook

import (
	"errors"
	"io/fs"
	"path/filepath"

	"padside/disk"
	"padside/fault"
)

// planName is what was worked out of a shoot, in its folder.
const planName = "plan.json"

// ShootNames lists the shoots, the one whose file changed last first.
func (b *Logbook) ShootNames() ([]string, error) { return b.names(shoots) }

// ShootPath is where the file of a shoot lies.
func (b *Logbook) ShootPath(name string) string { return b.path(shoots, name) }

// ShootText is the text of a shoot's file.
func (b *Logbook) ShootText(name string) ([]byte, error) { return b.text(shoots, name) }

// NewShoot adds a shoot. Its name comes from the title.
func (b *Logbook) NewShoot(title string, text []byte) (name string, err error) {
	return b.add(shoots, title, func(string) []byte { return text })
}

// PutShoot replaces a shoot's file, where it still reads as before. What it was is kept beside it.
func (b *Logbook) PutShoot(name string, before, text []byte) error {
	return b.put(shoots, name, before, text)
}

// TrashShoot puts a shoot aside: into the trash, as shoot-NAME.
func (b *Logbook) TrashShoot(name string) error { return b.putAside(shoots, name) }

// KeepPlan keeps what was worked out of a shoot beside its file.
func (b *Logbook) KeepPlan(name string, plan []byte) error {
	if _, err := b.ShootText(name); err != nil {
		return err
	}
	return WriteAtomic(filepath.Dir(b.ShootPath(name)), map[string][]byte{planName: plan})
}

// KeptPlan is what KeepPlan kept; nil where nothing was.
func (b *Logbook) KeptPlan(name string) ([]byte, error) {
	if !plain(name) {
		return nil, nil
	}
	data, err := disk.ReadIn(b.root, filepath.Join(shoots.dir, name, planName), MostKept)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fault.Failedf(err, "", "read the plan of %s: %v", name, err)
	}
	return data, nil
}
