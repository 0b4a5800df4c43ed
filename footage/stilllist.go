package footage

import (
	"bytes"
	"cmp"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"padside/disk"
	"padside/fault"
)

// stillNames lists the stills a path means; nil means that the path is a clip.
func stillNames(path string) ([]string, error) {
	st, err := os.Stat(path)
	var names []string
	raw := ""
	switch {
	case err == nil && !st.IsDir():
		return oneStill(path, st)
	case err == nil:
		entries, err := os.ReadDir(path)
		if err != nil {
			return nil, fault.Requestf("check that the folder may be read", "cannot read the folder %s", path)
		}
		for _, e := range entries {
			if !e.IsDir() {
				names = append(names, filepath.Join(path, e.Name()))
			}
		}
	case strings.ContainsAny(path, "*?["):
		if names, err = filepath.Glob(path); err != nil {
			return nil, fault.Requestf("close every [ with a ]", "the pattern %s cannot be read", path)
		}
	default:
		return nil, fault.Requestf("check the path; it is taken from the folder of the launch file, or else from where you are", "there is no readable file %s", path)
	}
	names = slices.DeleteFunc(names, func(n string) bool {
		if slices.Contains(undeveloped[:], strings.ToLower(filepath.Ext(n))) {
			raw = filepath.Base(n)
		}
		return !isStill(n) || strings.HasPrefix(filepath.Base(n), ".")
	})
	if len(names) == 0 && raw != "" {
		return nil, fault.Requestf("export the pictures as JPEG or TIFF with their times kept", "there are no stills at %s that are read here, only such as %s", path, raw)
	}
	if len(names) == 0 {
		return nil, fault.Requestf("stills are JPEG, PNG or TIFF files; name a clip by its own path", "there are no stills at %s", path)
	}
	if len(names) > maxStills {
		return nil, fault.Requestf("keep only the burst in the folder", "%s holds %d stills, more than the %d that are read", path, len(names), maxStills)
	}
	slices.SortFunc(names, naturalOrder)
	return names, nil
}

// oneStill tells by its name and first bytes whether a file is a still: a picture may be named like a clip.
func oneStill(path string, st os.FileInfo) ([]string, error) {
	if !st.Mode().IsRegular() {
		return nil, fault.Requestf("give a clip, a still or a folder of stills", "%s is no file", path)
	}
	if st.Size() == 0 {
		return nil, fault.Requestf("copy it from the camera again", "%s is empty", path)
	}
	if slices.Contains(undeveloped[:], strings.ToLower(filepath.Ext(path))) {
		return nil, fault.Requestf("export it as JPEG or TIFF with its time kept", "%s is a still of a kind that is not read here", path)
	}
	f, err := disk.Open(path)
	if err != nil {
		return nil, fault.Requestf("check that the file may be read", "cannot open %s", path)
	}
	defer f.Close()
	var b [8]byte
	n, _ := io.ReadFull(f, b[:]) // a shorter file is none of these
	ext := strings.ToLower(filepath.Ext(path))
	if isStill(path) || startsAsStill(b[:n]) && !slices.Contains(manyStills[:], ext) {
		return []string{path}, nil
	}
	return nil, nil
}

// undeveloped are stills that must be converted first.
var undeveloped = [...]string{".heic", ".heif", ".avif", ".webp", ".dng", ".cr2", ".cr3", ".nef", ".arw", ".raf", ".orf", ".rw2"}

// manyStills are clips that consist of stills and begin as one does.
var manyStills = [...]string{".mjpeg", ".mjpg", ".apng"}

func startsAsStill(b []byte) bool {
	for _, magic := range []string{"\xff\xd8\xff\xe0", "\xff\xd8\xff\xe1", "\x89PNG\r\n\x1a\n", "II*\x00", "MM\x00*"} {
		if bytes.HasPrefix(b, []byte(magic)) {
			return true
		}
	}
	return false
}

func isStill(name string) bool {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".jpg", ".jpeg", ".png", ".tif", ".tiff":
		return true
	}
	return false
}

// naturalOrder compares names so that numbers in them count as numbers: 9 before 10.
func naturalOrder(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		m, n := digits(x), digits(y)
		if m > 0 && n > 0 {
			p, q := strings.TrimLeft(x[:m], "0"), strings.TrimLeft(y[:n], "0")
			if c := cmp.Or(cmp.Compare(len(p), len(q)), cmp.Compare(p, q)); c != 0 {
				return c
			}
			x, y = x[m:], y[n:]
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(a, b))
}

// digits counts the decimal digits that s begins with.
func digits(s string) int {
	return len(s) - len(strings.TrimLeft(s, "0123456789"))
}
