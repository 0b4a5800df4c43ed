package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
)

// Import is footage on its way into the logbook.
type Import struct {
	ID string `json:"id"`
}

// Fresh says what a new launch is called, and where its footage lies where it is not sent.
type Fresh struct {
	Title string `json:"title"`
	Path  string `json:"path"`
}

// imports are the folders into which footage is being received.
type imports struct {
	mu     sync.Mutex
	number int
	dirs   map[string]string
}

func newImports() *imports { return &imports{dirs: map[string]string{}} }

func (m *imports) dir(id string) (string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if dir, ok := m.dirs[id]; ok {
		return dir, nil
	}
	return "", faultUnknown("import", id)
}

func (m *imports) forget(id string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.dirs, id)
}

// NewImport makes room for footage that will be sent.
func (d *Desk) NewImport() (Import, error) {
	dir, err := d.book.ImportDir()
	if err != nil {
		return Import{}, err
	}
	d.imports.mu.Lock()
	defer d.imports.mu.Unlock()
	d.imports.number++
	id := fmt.Sprintf("i%d", d.imports.number)
	d.imports.dirs[id] = dir
	return Import{id}, nil
}

// errShort is the cause of a file cut off on its way.
var errShort = errors.New("cut off")

// Receive streams one file of size bytes (below 0: unknown) to the disk. A file that is cut off is not kept.
func (d *Desk) Receive(ctx context.Context, id, filename string, size int64, r io.Reader) (err error) {
	dir, err := d.imports.dir(id)
	if err != nil {
		return err
	}
	if filename == "" || filename != filepath.Base(filename) || strings.HasPrefix(filename, ".") || strings.ContainsAny(filename, `/\:`) || len(filename) > 200 {
		return fault.Requestf("send the file under its plain name", "%q is no plain file name", filename)
	}
	path := filepath.Join(dir, filename)
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return fault.Requestf("send each file once", "cannot make %s: %v", filename, err)
	}
	defer func() {
		if closeErr := f.Close(); err == nil {
			err = closeErr
		}
		if err != nil {
			os.Remove(path)
		}
	}()
	n, err := io.Copy(f, stopping{ctx, r})
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err != nil && !errors.Is(err, io.ErrUnexpectedEOF):
		return fault.Failedf(err, "make room on the disk, or choose a logbook on another one", "write %s after %d bytes: %v", filename, n, err)
	case err != nil || size >= 0 && n != size:
		return fault.Failedf(errShort, "send it again", "%s was cut off after %d of %d bytes", filename, n, size)
	}
	return f.Sync()
}

// stopping is a reader that ends with a context.
type stopping struct {
	ctx context.Context
	r   io.Reader
}

func (s stopping) Read(b []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(b)
}

// AbandonImport throws away what was received.
func (d *Desk) AbandonImport(id string) error {
	dir, err := d.imports.dir(id)
	if err != nil {
		return err
	}
	d.imports.forget(id)
	return os.RemoveAll(dir)
}

// FinishImport makes a launch of what was received. Footage that cannot be opened is thrown away.
func (d *Desk) FinishImport(ctx context.Context, id string, f Fresh) (name string, err error) {
	dir, err := d.imports.dir(id)
	if err != nil {
		return "", err
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) == 0 {
		return "", fault.Requestf("send a clip or stills first", "nothing was received")
	}
	f.Path = dir
	if len(entries) == 1 {
		f.Path = filepath.Join(dir, entries[0].Name())
	}
	if f.Title == "" {
		f.Title = titleOf(entries[0].Name())
	}
	if _, err := footage.Inspect(ctx, f.Path, footage.Options{}); err != nil {
		d.imports.forget(id)
		os.RemoveAll(dir)
		return "", err
	}
	moved, err := d.book.Adopt(dir, f.Title)
	if err != nil {
		return "", err
	}
	d.imports.forget(id)
	f.Path = moved
	if len(entries) == 1 {
		f.Path = filepath.Join(moved, entries[0].Name())
	}
	return d.AddByPath(ctx, f)
}

// titleOf is a title from a file's name.
func titleOf(file string) string {
	return strings.TrimSpace(strings.NewReplacer("_", " ", "-", " ").Replace(strings.TrimSuffix(file, filepath.Ext(file))))
}

// AddByPath makes a launch of footage that lies where its path says.
func (d *Desk) AddByPath(ctx context.Context, f Fresh) (name string, err error) {
	if strings.TrimSpace(f.Path) == "" {
		return "", fault.Requestf("give the path of a clip or of a folder of stills", "no path was given")
	}
	shot, err := footage.Open(ctx, f.Path, footage.Options{})
	if err != nil {
		return "", err
	}
	info := shot.Info()
	shot.Close()
	if f.Title == "" {
		f.Title = titleOf(filepath.Base(f.Path))
	}
	name, err = d.book.New(f.Title, func(dir string) []byte { return freshLaunch(f, info, dir) })
	if err != nil {
		return "", err
	}
	d.watch.tell(Event{Kind: "logbook", Launch: name})
	return name, nil
}

// freshLaunch is the launch file of footage about which nothing has been said yet: the scale is a stand-in at the picture's
// height that the setup page asks to replace.
func freshLaunch(f Fresh, info footage.Info, dir string) []byte {
	path := f.Path
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	if rel, err := filepath.Rel(dir, path); err == nil && !strings.HasPrefix(rel, ".."+string(filepath.Separator)+".."+string(filepath.Separator)+"..") {
		path = filepath.ToSlash(rel)
	}
	text := fmt.Sprintf("format = 1\ntitle = %s\n\n[footage]\npath = %s\n", logbook.Quote(f.Title), logbook.Quote(path))
	if info.CaptureRate > 0 && !info.StampsTrusted {
		text += fmt.Sprintf("\n# The camera's tag says it filmed at %g Hz; state it here once you are sure:\n# [footage.time]\n# basis = \"rate\"\n# rate = \"%g Hz\"\n", info.CaptureRate, info.CaptureRate)
	}
	return []byte(text)
}

// Trash puts a launch aside.
func (d *Desk) Trash(name string) error {
	if err := d.book.Trash(name); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "logbook", Launch: name})
	return nil
}

// Restore takes a launch back out of the trash.
func (d *Desk) Restore(name string) error {
	if err := d.book.Restore(name); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "logbook", Launch: name})
	return nil
}

// Aside is something in the trash, as the logbook page lists it.
type Aside struct {
	Entry string `json:"entry"` // its name in the trash
	What  string `json:"what"`  // "launch", "heat" or "shoot"
	Title string `json:"title"`
	On    string `json:"on"` // the day it was put there
}

// Trashed lists what lies in the trash, what was put there last first.
func (d *Desk) Trashed() ([]Aside, error) {
	list, err := d.book.Trashed()
	out := []Aside{}
	for _, a := range list {
		out = append(out, Aside{Entry: a.Entry, What: a.What, Title: a.Title, On: a.At.Format(time.DateOnly)})
	}
	return out, err
}

// TakeBack takes something out of the trash by its name there.
func (d *Desk) TakeBack(entry string) error {
	a, name, err := d.book.TakeBack(entry)
	if err != nil {
		return err
	}
	if a.What != "launch" {
		d.watch.tell(Event{Kind: a.What})
		return nil
	}
	d.watch.tell(Event{Kind: "logbook", Launch: name})
	return nil
}
