package disk

import (
	"errors"
	"fmt"
	"io"
	"os"
	"syscall"
)

// What is the matter with a file, to be told apart by errors.Is.
var (
	ErrFolder     = errors.New("is a folder")
	ErrNotRegular = errors.New("is no regular file, but a pipe, a device or the like")
	ErrTooLarge   = errors.New("is too large")
)

// Open opens a regular file for reading. It never waits for another program, as opening a pipe does.
func Open(path string) (*os.File, error) {
	info, err := os.Stat(path) // first: opening a device may do something
	if err == nil {
		err = regular(info)
	}
	if err != nil {
		return nil, wrong(path, err)
	}
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	return checked(f, path, err)
}

// OpenIn is Open for a name within a folder: no link leads out of it.
func OpenIn(root *os.Root, name string) (*os.File, error) {
	info, err := root.Stat(name)
	if err == nil {
		err = regular(info)
	}
	if err != nil {
		return nil, wrong(name, err)
	}
	f, err := root.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	return checked(f, name, err)
}

// Read reads a regular file of at most most bytes.
func Read(path string, most int64) ([]byte, error) {
	f, err := Open(path)
	return all(f, path, most, err)
}

// ReadIn is Read for a name within a folder: no link leads out of it.
func ReadIn(root *os.Root, name string, most int64) ([]byte, error) {
	f, err := OpenIn(root, name)
	return all(f, name, most, err)
}

// checked looks at what was opened: it may have been replaced since it was looked at by its name.
func checked(f *os.File, name string, err error) (*os.File, error) {
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err == nil {
		err = regular(info)
	}
	if err != nil {
		f.Close()
		return nil, wrong(name, err)
	}
	return f, nil
}

func regular(info os.FileInfo) error {
	switch {
	case info.IsDir():
		return ErrFolder
	case !info.Mode().IsRegular():
		return ErrNotRegular
	}
	return nil
}

// wrong names the file, unless the error does.
func wrong(name string, err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return err
	}
	return fmt.Errorf("%s %w", name, err)
}

// all reads what was opened, no further than a byte beyond the most.
func all(f *os.File, name string, most int64, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	defer f.Close()
	tooLarge := fmt.Errorf("%s %w: more than %d bytes", name, ErrTooLarge, most)
	if info, err := f.Stat(); err == nil && info.Size() > most {
		return nil, tooLarge
	}
	b, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(b)) > most {
		err = tooLarge
	}
	if err != nil {
		return nil, err
	}
	return b, nil
}
