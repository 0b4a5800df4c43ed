package web_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"padside/staged"
)

// TestThreeStillsOnTheirPage: a launch of three stills with marks alone is measured on its page, which says the mean speeds between the pictures as sentence and
// in a table of their own, and why there is nothing else.
func TestThreeStillsOnTheirPage(t *testing.T) {
	t.Parallel()
	take := ploverTake()
	dir := filepath.Join(t.TempDir(), "book")
	all := still(t, t.TempDir())
	var times, marks string
	last := len(all) - 1
	for !take.Scene.Truth(1, last, take.Scene.Vehicles[0].Length).InView {
		last--
	}
	for k, i := range []int{last - 24, last - 12, last} {
		data, err := os.ReadFile(all[i])
		if err != nil {
			t.Fatal(err)
		}
		put(t, filepath.Join(dir, "footage", "crane", filepath.Base(all[i])), data)
		p := take.Scene.Truth(1, i, take.Scene.Vehicles[0].Length).Pixel
		times += fmt.Sprintf("%g, ", take.Scene.Stamps[i])
		marks += fmt.Sprintf("{ frame = %d, x = %.2f, y = %.2f }, ", k, p.X, p.Y)
	}
	text := staged.LaunchText(take, "../../footage/crane", 1)
	for _, c := range [][2]string{
		{fmt.Sprintf("basis = %q\nrate = \"%g Hz\"", take.Basis, take.Hz), "basis = \"list\"\ntimes = [ " + times + "]"},
		{"\n[questions]\n", "\n[trace]\nfollow = false\nmarks = [ " + marks + "]\n\n[questions]\naverage_speeds = [ { from = 0, to = 2 } ]\n"},
	} {
		if !bytes.Contains(text, []byte(c[0])) {
			t.Fatalf("%s\nholds no %q", text, c[0])
		}
		text = bytes.Replace(text, []byte(c[0]), []byte(c[1]), 1)
	}
	put(t, filepath.Join(dir, "launches", "crane", "launch.toml"), text)
	b := openTab(t, serve(t, dir))
	b.open("/launch/crane")
	b.press("Measure this launch")
	b.wait(`document.querySelector(".standing").hidden && document.querySelector(".answers table")`)
	b.wait(`[...document.querySelectorAll(".headline .sentence")].some(p => / km.h on average from frame 0 to frame 2, give or take/.test(p.textContent))`)
	b.wait(`[...document.querySelectorAll(".answers caption")].some(c => c.textContent === "Mean speed between two pictures")`)
	b.wait(`[...document.querySelectorAll(".answers tbody th")].map(c => c.textContent).join() === "mean speed, frames 0 to 2,mean speed, frames 0 to 1,mean speed, frames 1 to 2"`)
	b.wait(`[...document.querySelectorAll(".answers .absent")].some(p => /only 2 frames show the vehicle moving/.test(p.textContent))`)
	b.keepPictures("few-head", "h1")
	b.keepPictures("few", ".answers")
}
