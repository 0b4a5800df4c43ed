package logbook

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestFullDisk fills a disk by a limit on file size: the edit is refused, and what was there stays.
func TestFullDisk(t *testing.T) {
	if dir := os.Getenv("PADSIDE_FULL"); dir != "" {
		fillUp(dir)
		return
	}
	t.Parallel()
	b, name := newBook(t)
	s, _ := b.State(name)
	if s, err := b.Edit(name, s.Revision, "", "edit", titled("before")); err != nil || s.Text == nil {
		t.Fatal(err)
	}
	dir := b.Dir()
	b.Close()
	cmd := exec.Command(os.Args[0], "-test.run=^TestFullDisk$")
	cmd.Env = append(os.Environ(), "PADSIDE_FULL="+dir)
	out, err := cmd.CombinedOutput()
	if err != nil || !bytes.Contains(out, []byte("refused: cannot write")) {
		t.Fatalf("the edit on a full disk: %v\n%s", err, out)
	}
	b, err = Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if s, err := b.State(name); err != nil || !bytes.Equal(s.Text, titled("before")) {
		t.Errorf("after the full disk the text is %q (%v)", s.Text, err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, LaunchesDir, name, ".padside-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func fillUp(dir string) {
	b, err := Open(dir, Options{})
	if err != nil {
		fmt.Println("open:", err)
		os.Exit(1)
	}
	names, _ := b.Names()
	s, _ := b.State(names[0])
	info, _ := os.Stat(filepath.Join(b.Folder(names[0]), historyName))
	lift, err := limitFiles(uint64(info.Size()) + 40)
	if err != nil {
		fmt.Println("limit:", err)
		os.Exit(1)
	}
	_, err = b.Edit(names[0], s.Revision, "", "edit", titled(strings.Repeat("long ", 100)))
	fmt.Println("refused:", err)
	// Lifted, so that what the test binary writes when it ends, as under -cover, has room.
	if err := lift(); err != nil {
		fmt.Println("lift:", err)
		os.Exit(1)
	}
}
