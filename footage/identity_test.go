package footage

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// TestIdentity: digests are those of FIPS 180-4 (its published example "abc"; of stills, of the list that sha256sum prints of them), and
// what changed of a run of stills is told by name.
func TestIdentity(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		at := time.Date(2026, 5, 16, 12, 0, len(text), 0, time.UTC)
		if err := os.Chtimes(filepath.Join(dir, name), at, at); err != nil {
			t.Fatal(err)
		}
	}
	read := func() Identity {
		t.Helper()
		id, err := Digest(context.Background(), dir)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	write("a-9.png", "abc")
	write("a-10.png", "abc")
	was := read()
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	// printf '%s  a-9.png\n%s  a-10.png\n' $abc $abc | sha256sum
	const both = "41dc7ef5b67596087de410c1606f53579087d68a529e53c4d4925e752b469579"
	if was.SHA256 != both || was.Files[0].SHA256 != abc || was.Files[1].Name != "a-10.png" {
		t.Errorf("the identity is %+v", was)
	}
	lay, err := Identify(dir)
	if err != nil || !was.Unread(lay) || lay.Files[0].SHA256 != "" {
		t.Errorf("Identify = %+v, %v: it must be the same, unread", lay, err)
	}
	for _, c := range []struct {
		name   string
		change func()
		other  string   // known without reading
		differ []string // known by reading
	}{
		{"content", func() { write("a-10.png", "abd") }, "", []string{"a-10.png has changed"}},
		{"size", func() { write("a-10.png", "abcd") }, "a-10.png has 4 bytes, where 3 were measured", []string{"a-10.png has changed"}},
		{"one more", func() { write("a-11.png", "abc") }, "there are 3 files, where 2 were measured", []string{"a-10.png has changed", "a-11.png was not there"}},
		{"renamed", func() {
			os.Rename(filepath.Join(dir, "a-11.png"), filepath.Join(dir, "b.png"))
			os.Remove(filepath.Join(dir, "a-10.png"))
		},
			"b.png stands where a-10.png was", []string{"b.png was not there", "a-10.png is gone"}},
	} {
		c.change()
		is := read()
		if is.SHA256 == was.SHA256 {
			t.Errorf("%s: the digest is the same", c.name)
		}
		if got := was.Other(is); got != c.other {
			t.Errorf("%s: Other = %q, want %q", c.name, got, c.other)
		}
		if got := was.Differing(is); !slices.Equal(got, c.differ) {
			t.Errorf("%s: Differing = %q, want %q", c.name, got, c.differ)
		}
	}
	if _, err := Identify(filepath.Join(dir, "none.mp4")); err == nil {
		t.Error("footage that is not there has an identity")
	}
}
