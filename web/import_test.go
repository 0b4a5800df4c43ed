package web_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

func TestDropOnTheLogbook(t *testing.T) {
	t.Parallel()
	dir, stills := filmed(t, "crake", true)
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

// A large upload shows how far it is and can be cancelled; nothing of it is kept. The file is a hole of 2 GiB, which costs no disk
// where it lies, and is sent as zeros.
func TestUploadCancelled(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "book")
	b := openTab(t, serve(t, dir))
	b.wait(`document.querySelector(".begin")?.offsetParent`)
	large := filepath.Join(t.TempDir(), "large.mp4")
	f, err := os.Create(large)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Truncate(2 << 30); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	b.drop(large)
	b.wait(`document.querySelector(".sending progress")?.value > 0 && / of 2\.15 GB/.test(document.querySelector(".sending .words").textContent)`)
	b.press("Cancel")
	b.wait(`!document.querySelector(".sending li") && document.getElementById("said").textContent.includes("nothing of it was kept")`)
	for range 1200 { // the server lets go of the file a moment after the browser does, a minute at most
		if kept := footageIn(t, dir); len(kept) == 0 {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Errorf("%v is left of a cancelled upload", footageIn(t, dir))
}

// footageIn lists the clips anywhere in a logbook.
func footageIn(t *testing.T, dir string) (clips []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if os.IsNotExist(err) {
			return nil // it went while we looked
		}
		if err == nil && filepath.Ext(path) == ".mp4" {
			clips = append(clips, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return clips
}

func TestPageNoticesThatPadsideEnded(t *testing.T) {
	t.Parallel()
	s := serve(t, filepath.Join(t.TempDir(), "book"))
	b := openTab(t, s)
	b.allow = append(b.allow, "ERR_CONNECTION_REFUSED", "ERR_INCOMPLETE_CHUNKED_ENCODING")
	b.wait(`document.querySelector(".begin")?.offsetParent`)
	s.end(t)
	b.wait(`document.getElementById("said").textContent.includes("padside does not answer")`)
}
