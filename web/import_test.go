package web_test

import (
	"os"
	"path/filepath"
	"testing"
)

func TestDropOnTheLogbook(t *testing.T) {
	t.Parallel()
	dir, stills := filmed(t, "crake", 23, true)
	s := serve(t, dir)
	b := openTab(t, s)
	b.wait(`document.querySelector(".begin")?.offsetParent`)
	b.drop(stills[:12]...)
	b.wait(`location.pathname.startsWith("/setup/")`)
	b.open("/")
	b.wait(`document.querySelectorAll(".entry").length === 1`)
	if kept, err := filepath.Glob(filepath.Join(dir, "footage", "*", "*.jpg")); err != nil || len(kept) != 12 {
		t.Errorf("%d stills in the logbook, %v, want 12", len(kept), err)
	}

	// What is no footage is refused in words, and nothing of it stays.
	notes := filepath.Join(t.TempDir(), "notes.mp4")
	if err := os.WriteFile(notes, []byte("these are notes"), 0o644); err != nil {
		t.Fatal(err)
	}
	b.allow = append(b.allow, "status of 422")
	b.drop(notes)
	b.wait(`document.querySelector(".sending .warn")?.textContent.includes("notes.mp4")`)
	b.press("Dismiss")
	b.wait(`!document.querySelector(".sending li")`)
	b.wait(`document.querySelectorAll(".entry").length === 1`)

	// By its path: the footage stays where it is.
	b.press("name its path")
	b.write("#path", filepath.Dir(stills[0]))
	b.press("Add")
	b.wait(`location.pathname.startsWith("/setup/")`)
	b.open("/")
	b.wait(`document.querySelectorAll(".entry").length === 2`)
}
