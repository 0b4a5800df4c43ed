package logbook

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/gofrs/flock"

	"padside/disk"
	"padside/fault"
)

// What errors are about, to be told apart by errors.Is.
var (
	ErrUnknown  = errors.New("unknown")
	ErrConflict = errors.New("edited elsewhere")
	ErrHeld     = errors.New("held by another process")
	ErrReadOnly = errors.New("read-only")
)

// Where launches lie: LaunchesDir/NAME/LaunchName in a logbook's folder.
const (
	LaunchesDir = "launches"
	LaunchName  = "launch.toml"
)

// Other names inside a logbook's folder.
const (
	setupsDir   = "setups"
	footageDir  = "footage"
	trashDir    = "trash"
	incomingDir = "incoming"
	marker      = "logbook.toml"
	lockName    = ".padside-lock"
	holderName  = ".padside-holder"
	historyName = "history.jsonl"

	incomingPrefix = "footage-"
)

// MostKept is how large a file kept beside a launch, or its history, may be, bytes: a trace of a million points fits.
const MostKept = 256 << 20

// Logbook is an open logbook: a folder of launches and setups that this process alone may change. Its methods may be called
// from several goroutines at once.
type Logbook struct {
	dir  string
	root *os.Root // of the folder: no name leads out of it
	lock *flock.Flock

	folders  sync.Mutex // held while a launch or footage comes, goes or moves
	mu       sync.Mutex // of launches
	launches map[string]*tracked
}

// Options says how to open a logbook.
type Options struct {
	Make bool // make the folder a logbook where there is none yet
}

// holder says who has a logbook open.
type holder struct {
	PID   int       `json:"pid"`
	Host  string    `json:"host"`
	Since time.Time `json:"since"`
}

// Open opens the logbook in a folder and locks it. The lock ends with the process, however that ends.
func Open(dir string, o Options) (*Logbook, error) {
	if err := prepare(dir, o.Make); err != nil {
		return nil, err
	}
	b := &Logbook{dir: dir, lock: flock.New(filepath.Join(dir, lockName)), launches: map[string]*tracked{}}
	got, err := b.lock.TryLock()
	switch {
	case readOnly(err):
		return nil, unwritable(dir, err)
	case err != nil:
		return nil, fault.Failedf(err, "copy the logbook to a disk of this computer", "lock the logbook %s: %v", dir, err)
	case !got:
		return nil, held(dir)
	}
	if b.root, err = os.OpenRoot(dir); err != nil {
		b.lock.Close()
		return nil, fault.Failedf(err, "", "open the logbook %s: %v", dir, err)
	}
	host, _ := os.Hostname() // nameless is fine
	who, _ := json.Marshal(holder{os.Getpid(), host, time.Now().UTC().Truncate(time.Second)})
	if err := WriteAtomic(dir, map[string][]byte{holderName: append(who, '\n')}); err != nil {
		b.Close()
		if errors.Is(err, ErrReadOnly) {
			err = unwritable(dir, err)
		}
		return nil, err
	}
	b.sweep()
	return b, nil
}

func unwritable(dir string, err error) error {
	return &fault.Error{Kind: fault.Request, Cause: errors.Join(ErrReadOnly, err), Message: fmt.Sprintf("cannot write into the logbook %s: %v", dir, err),
		Hint: "make the folder writable, or copy the logbook to a place you may write to"}
}

// sweep removes what a killed program left half-written: temporary files and folders, and footage that was still coming in. This
// process has the lock and has begun nothing yet. What cannot be removed does no harm.
func (b *Logbook) sweep() {
	dirs := []string{".", LaunchesDir, setupsDir, incomingDir, heats.dir, shoots.dir}
	for _, in := range []string{LaunchesDir, heats.dir, shoots.dir} {
		names, _ := fs.ReadDir(b.root.FS(), in)
		for _, e := range names {
			if e.IsDir() {
				dirs = append(dirs, filepath.Join(in, e.Name()))
			}
		}
	}
	for _, dir := range dirs {
		entries, _ := fs.ReadDir(b.root.FS(), filepath.ToSlash(dir))
		for _, e := range entries {
			unfinished := strings.HasPrefix(e.Name(), tempPrefix) && e.Name() != lockName && e.Name() != holderName
			if unfinished || dir == incomingDir && strings.HasPrefix(e.Name(), incomingPrefix) {
				b.root.RemoveAll(filepath.Join(dir, e.Name()))
			}
		}
	}
}

// holding refuses when the lock was taken away: somebody removed the lock's file, and another process may have made a new one.
func (b *Logbook) holding() error {
	mine, err := b.lock.Stat()
	if err == nil {
		var there os.FileInfo
		if there, err = os.Stat(filepath.Join(b.dir, lockName)); err == nil && os.SameFile(mine, there) {
			return nil
		}
	}
	return &fault.Error{Kind: fault.Request, Cause: errors.Join(ErrHeld, err), Message: fmt.Sprintf("the lock of the logbook %s was removed", b.dir),
		Hint: "end padside and begin again; nothing was changed"}
}

// prepare sees to it that dir is a logbook's folder.
func prepare(dir string, create bool) error {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist) && !create:
		return &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: "there is no logbook " + dir, Hint: "name a logbook's folder, or a new one to begin"}
	case errors.Is(err, syscall.ENOTDIR):
		return &fault.Error{Kind: fault.Request, Cause: err, Message: dir + " is a file, where a logbook's folder is needed", Hint: "name a logbook's folder, or a new one to begin"}
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return &fault.Error{Kind: fault.Request, Cause: err, Message: "cannot read the folder " + dir + ": " + oneLine(err.Error()), Hint: "name a folder you may read"}
	}
	known, mine := false, 0
	for _, e := range entries {
		known = known || e.Name() == LaunchesDir && e.IsDir() || e.Name() == marker
		if strings.HasPrefix(e.Name(), ".") {
			mine++
		}
	}
	if !known && (len(entries) > mine || !create) {
		return fault.Requestf("name a logbook's folder, or an empty or new one to begin", "the folder %s is no logbook", dir)
	}
	for _, d := range []string{LaunchesDir, setupsDir} {
		if err := os.MkdirAll(filepath.Join(dir, d), 0o755); err != nil {
			return unwritten(dir, err)
		}
	}
	text, err := disk.Read(filepath.Join(dir, marker), longestFile)
	if errors.Is(err, fs.ErrNotExist) {
		return WriteAtomic(dir, map[string][]byte{marker: []byte("# A padside logbook: see launches/ and setups/.\nformat = 1\n")})
	}
	if err != nil {
		return fault.Requestf("check the file's permissions", "cannot read %s: %s", filepath.Join(dir, marker), oneLine(err.Error()))
	}
	return checkMarker(text)
}

// checkMarker refuses logbooks of a newer format.
func checkMarker(text []byte) error {
	root, err := parseTree(marker, text)
	if err != nil {
		return err
	}
	r := &reader{file: marker}
	r.format(root)
	return r.err
}

// held says who holds a logbook.
func held(dir string) error {
	who := "another process"
	var h holder
	if b, err := disk.Read(filepath.Join(dir, holderName), longestFile); err == nil && json.Unmarshal(b, &h) == nil && h.PID > 0 {
		who = fmt.Sprintf("process %d on %s since %s", h.PID, h.Host, h.Since.Local().Format("2006-01-02 15:04"))
	}
	return &fault.Error{Kind: fault.Request, Cause: ErrHeld, Message: fmt.Sprintf("the logbook %s is open already, by %s", dir, who),
		Hint: "use the pages that one serves, or end it first"}
}

// Close lets go of the logbook.
func (b *Logbook) Close() error {
	if b.root != nil {
		b.root.Close()
	}
	os.Remove(filepath.Join(b.dir, holderName))
	return b.lock.Close()
}

// Dir is the logbook's folder.
func (b *Logbook) Dir() string { return b.dir }

// Folder is the folder of a launch; LaunchPath its launch file.
func (b *Logbook) Folder(name string) string     { return filepath.Join(b.dir, LaunchesDir, name) }
func (b *Logbook) LaunchPath(name string) string { return filepath.Join(b.Folder(name), LaunchName) }

// plain says whether a name is one folder's.
func plain(name string) bool {
	return name != "" && name == filepath.Base(name) && filepath.IsLocal(name) && name != "." && !strings.HasPrefix(name, ".")
}

// known refuses names that are no launch's.
func (b *Logbook) known(name string) error {
	if plain(name) {
		if _, err := b.root.Stat(filepath.Join(LaunchesDir, name, LaunchName)); err == nil {
			return nil
		}
	}
	return unknownLaunch(name)
}

func unknownLaunch(name string) error {
	return &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: fmt.Sprintf("there is no launch %q", name), Hint: "the logbook page shows what there is"}
}

// Names lists the launches, the one whose files changed last first.
func (b *Logbook) Names() ([]string, error) {
	entries, err := fs.ReadDir(b.root.FS(), LaunchesDir)
	if err != nil {
		return nil, fault.Failedf(err, "", "read the logbook %s: %v", b.dir, err)
	}
	type dated struct {
		name string
		at   time.Time
	}
	var list []dated
	for _, e := range entries {
		if !e.IsDir() || !plain(e.Name()) {
			continue
		}
		if info, err := b.root.Stat(filepath.Join(LaunchesDir, e.Name(), LaunchName)); err == nil {
			list = append(list, dated{e.Name(), info.ModTime()})
		}
	}
	slices.SortStableFunc(list, func(x, y dated) int { return y.at.Compare(x.at) })
	names := make([]string, len(list))
	for i, d := range list {
		names[i] = d.name
	}
	return names, nil
}

// Keep writes derived files beside a launch file, all complete before the first is in place.
func (b *Logbook) Keep(name string, files map[string][]byte) error {
	return b.keeping(name, files, func(dir string) error { return WriteAtomic(dir, files) })
}

// keeping writes files beside a launch file, which are not those that are edited.
func (b *Logbook) keeping(name string, files map[string][]byte, write func(dir string) error) error {
	if err := b.known(name); err != nil {
		return err
	}
	if files[LaunchName] != nil || files[historyName] != nil {
		return fault.Failedf(nil, "", "keep %s: it is edited, not derived", LaunchName)
	}
	t := b.track(name)
	t.mu.Lock() // not put aside meanwhile
	defer t.mu.Unlock()
	if err := b.known(name); err != nil {
		return err
	}
	return write(b.Folder(name))
}

// File returns the content of a file beside a launch file.
func (b *Logbook) File(name, file string) ([]byte, error) {
	if err := b.known(name); err != nil {
		return nil, err
	}
	f := filepath.Join(LaunchesDir, name, file)
	if !plain(file) {
		return nil, &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: fmt.Sprintf("%q is no plain file name", file), Hint: "name a file of the launch"}
	}
	content, err := disk.ReadIn(b.root, f, MostKept)
	if err != nil {
		return nil, &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: fmt.Sprintf("the launch %s has no %s", name, file), Hint: "measure it first"}
	}
	return content, nil
}
