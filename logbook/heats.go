package logbook

import "path/filepath"

// HeatNames lists the heats, the one whose file changed last first.
func (b *Logbook) HeatNames() ([]string, error) { return b.names(heats) }

// HeatPath is where the file of a heat lies.
func (b *Logbook) HeatPath(name string) string { return b.path(heats, name) }

// HeatText is the text of a heat's file.
func (b *Logbook) HeatText(name string) ([]byte, error) { return b.text(heats, name) }

// NewHeat adds a heat. Its name comes from the title; text is the heat file for a heat in that place.
func (b *Logbook) NewHeat(title string, text func(path string) []byte) (name string, err error) {
	return b.add(heats, title, text)
}

// PutHeat replaces a heat's file, where it still reads as before. What it was is kept beside it.
func (b *Logbook) PutHeat(name string, before, text []byte) error {
	return b.put(heats, name, before, text)
}

// TrashHeat puts a heat aside: into the trash, as heat-NAME.
func (b *Logbook) TrashHeat(name string) error { return b.putAside(heats, name) }

// LaunchAt is the name of the launch whose file lies at a path; false where that is none of this logbook's.
func (b *Logbook) LaunchAt(path string) (name string, ok bool) {
	rel, err := filepath.Rel(filepath.Join(b.dir, LaunchesDir), path)
	if err != nil || !filepath.IsLocal(rel) || filepath.Base(rel) != LaunchName {
		return "", false
	}
	name = filepath.Dir(rel)
	return name, plain(name)
}

// LaunchFrom is how a heat's file names a launch of the logbook.
func LaunchFrom(name string) string { return "../../" + LaunchesDir + "/" + name + "/" + LaunchName }

// Beside resolves a path that a heat's file names.
func Beside(heatPath, given string) string { return resolve(heatPath, given) }
