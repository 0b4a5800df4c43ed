package main

import (
	"os"
	"runtime"
	"strings"
	"testing"
)

// The browser is led to the address by a file that only this user can read; each Enter asks for another address.
func TestRedirectIsPrivate(t *testing.T) {
	t.Parallel()
	path, err := redirect("http://127.0.0.1:80/enter?token=A&b")
	if err != nil {
		t.Fatal(err)
	}
	defer os.Remove(path)
	info, err := os.Stat(path)
	if err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("the file has mode %v, %v", info.Mode(), err)
	}
	if page, err := os.ReadFile(path); err != nil || !strings.Contains(string(page), `0;url=http://127.0.0.1:80/enter?token=A&amp;b"`) {
		t.Errorf("the page is %q, %v", page, err)
	}
	n := 0
	if onEnter(strings.NewReader("\n\n"), func() { n++ }); n != 2 {
		t.Errorf("%d addresses after two Enters", n)
	}
}
