package logbook

import (
	"os"
	"path/filepath"
)

// WriteFolderAtomic lets fill put files into a temporary folder beside dir, syncs them and gives
// the folder dir's name: it appears whole or not at all. dir must not be there, or be empty. An
// error of fill comes back as it is.
func WriteFolderAtomic(dir string, fill func(temp string) error) error {
	dir = filepath.Clean(dir)
	parent := filepath.Dir(dir)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return unwritten(parent, err)
	}
	temp, err := os.MkdirTemp(parent, tempPrefix+"*")
	if err != nil {
		return unwritten(parent, err)
	}
	defer os.RemoveAll(temp) // gone already when renamed
	if err := os.Chmod(temp, 0o755); err != nil {
		return unwritten(parent, err)
	}
	if err := fill(temp); err != nil {
		return err
	}
	list, err := os.ReadDir(temp)
	if err != nil {
		return unwritten(dir, err)
	}
	for _, e := range list {
		if err := settle(filepath.Join(temp, e.Name())); err != nil {
			return unwritten(dir, err)
		}
	}
	if err := os.Remove(dir); err != nil && !os.IsNotExist(err) { // an empty one only
		return unwritten(dir, err)
	}
	if err := os.Rename(temp, dir); err != nil {
		return unwritten(dir, err)
	}
	syncFolder(parent)
	return nil
}
