package footage

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"padside/fault"
)

// Identity tells footage from other footage. What a folder says of its files, names, sizes and times of change, costs no reading; where
// that is not as it was, the digests decide.
type Identity struct {
	SHA256 string `json:"sha256"` // as Digest has it; empty where the files were not read
	Files  []Part `json:"files"`  // in the order of the frames; empty in results of versions that kept the digest alone
}

// Part is one file of footage.
type Part struct {
	Name     string    `json:"name"` // without its folder
	Bytes    int64     `json:"bytes"`
	Modified time.Time `json:"modified"`
	SHA256   string    `json:"sha256,omitempty"` // FIPS 180-4, in hex; empty where it was not read
}

// Identify lists the files that a path of footage means, and reads none of them. It is an error where there are none, or where they are no
// footage by their names.
func Identify(path string) (Identity, error) {
	names, _, err := filesOf(path)
	if err != nil {
		return Identity{}, err
	}
	id := Identity{Files: make([]Part, len(names))}
	for i, name := range names {
		if id.Files[i], err = partOf(name); err != nil {
			return Identity{}, err
		}
	}
	return id, nil
}

// filesOf are the files of a clip or of a run of stills.
func filesOf(path string) (names []string, kind Kind, err error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, "", fault.Failedf(err, "", "find %s", path)
	}
	if names, err = stillNames(abs); err != nil {
		return nil, "", err
	}
	if names == nil {
		return []string{abs}, Clip, nil
	}
	return names, Stills, nil
}

func partOf(name string) (Part, error) {
	st, err := os.Stat(name)
	if err != nil {
		return Part{}, fault.Requestf("check that the file is still there and may be read", "cannot look at %s", name)
	}
	return Part{Name: filepath.Base(name), Bytes: st.Size(), Modified: st.ModTime().UTC()}, nil
}

// Unread says whether the folder says the same of both: nothing needs to be read to know that they are the same.
func (a Identity) Unread(b Identity) bool {
	if len(a.Files) == 0 || len(a.Files) != len(b.Files) {
		return false
	}
	for i, p := range a.Files {
		if q := b.Files[i]; p.Name != q.Name || p.Bytes != q.Bytes || !p.Modified.Equal(q.Modified) {
			return false
		}
	}
	return true
}

// Other says, of two that differ by what their folders say, what makes them other footage without reading: a file more or less, another
// name, another size. It is empty where only the times differ, or where one was kept by its digest alone.
func (a Identity) Other(b Identity) string {
	if len(a.Files) == 0 || len(b.Files) == 0 {
		return ""
	}
	if len(a.Files) != len(b.Files) {
		return fmt.Sprintf("there are %d files, where %d were measured", len(b.Files), len(a.Files))
	}
	for i, p := range a.Files {
		q := b.Files[i]
		switch {
		case p.Name != q.Name && len(a.Files) > 1:
			return fmt.Sprintf("%s stands where %s was", q.Name, p.Name)
		case p.Bytes != q.Bytes:
			return fmt.Sprintf("%s has %d bytes, where %d were measured", q.Name, q.Bytes, p.Bytes)
		}
	}
	return ""
}

// Differing names the files of b that are not those of a by their digests, or by name and size where these were not kept.
func (a Identity) Differing(b Identity) []string {
	was := map[string]Part{}
	for _, p := range a.Files {
		was[p.Name] = p
	}
	var out []string
	for _, q := range b.Files {
		p, there := was[q.Name]
		switch {
		case !there && len(a.Files) > 0:
			out = append(out, q.Name+" was not there")
		case there && (p.Bytes != q.Bytes || p.SHA256 != "" && q.SHA256 != "" && p.SHA256 != q.SHA256):
			out = append(out, q.Name+" has changed")
		}
		delete(was, q.Name)
	}
	for _, p := range a.Files {
		if _, gone := was[p.Name]; gone {
			out = append(out, p.Name+" is gone")
		}
	}
	return out
}
