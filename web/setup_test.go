package web_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"padside/logbook"
)

// TestSetupMarksTheRod says the rate, places the marks of a drawn rod by hand, each a little off, snaps them to the bands'
// edges, and wants the scale to fit them; then undoes, and measures.
func TestSetupMarksTheRod(t *testing.T) {
	t.Parallel()
	dir, _ := filmed(t, "bittern", false)
	path := filepath.Join(dir, "launches", "bittern", "launch.toml")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	known, err := logbook.ParseLaunch(text, path)
	if err != nil {
		t.Fatal(err)
	}
	bare := "format = 1\ntitle = \"Bittern\"\n\n[footage]\npath = \"../../footage/bittern\"\n\n[questions]\nspeeds = [\"36 km/h\"]\n"
	if err := os.WriteFile(path, []byte(bare), 0o644); err != nil {
		t.Fatal(err)
	}
	b := openTab(t, serve(t, dir))
	b.open("/setup/bittern")
	b.wait(`document.querySelector(".kept")?.textContent === "Nothing is marked yet." && document.querySelector(".stage img").complete`)

	// The time base: what does not go with the footage is said where it is chosen.
	times := `document.querySelector("[aria-label='Time base'] .says").innerText`
	b.wait(`document.querySelector(".verdict .says").innerText.startsWith("Nothing yet")`)
	b.choose("#basis", "container")
	b.wait(times + `.includes('basis "container" is for clips')`)
	b.choose("#basis", "rate")
	b.write("#time-rate", "1000 Hz")
	b.choose("#time-shutter", "global")
	b.wait(`document.querySelector(".kept").textContent.includes("kept")`)

	marks := known.Scale.Marks
	for i, m := range marks {
		dy := float64(4*(i%2) - 2)
		if i == len(marks)-1 {
			dy = 0 // the rod's white top stands against a bright sky: there is no edge to snap to
		}
		b.placeMark(m.X+1.6, m.Y+dy)
		b.wait(fmt.Sprintf(`document.querySelectorAll(".marks tbody tr").length === %d`, i+1))
		at := fmt.Sprintf(".marks tbody tr:nth-child(%d) input.at", i+1)
		b.write(at, fmt.Sprintf("%.4g m", m.At.Value))
		b.wait(fmt.Sprintf(`document.querySelector(".where").textContent.startsWith("Mark %d at")`, i+1))
	}
	b.write("#scale-rod_range", "6.9(1) m")
	b.write("#scale-flight_range", "6.8(1) m")
	b.wait(`document.querySelector(".kept").textContent === "All is kept."`)
	rough := b.offBy()

	// By keyboard: each mark under the loupe, snapped to its edge.
	b.must(chromedp.Do(b.ctx, chromedp.Focus(chromedp.CSS(".glass"))))
	for range marks {
		b.must(chromedp.Do(b.ctx, chromedp.KeyEvent(kb.PageDown)))
		b.wait(`document.querySelector(".glass canvas").width > 100 && document.querySelector(".glass").ariaBusy !== "true"`)
		b.must(chromedp.Do(b.ctx, chromedp.KeyEvent("e")))
	}
	b.wait(`document.querySelector(".kept").textContent === "All is kept."`)
	text, err = os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	now, err := logbook.ParseLaunch(text, path)
	if err != nil {
		t.Fatalf("%v:\n%s", err, text)
	}
	if now.Time.Rate.Value != 1000 || len(now.Scale.Marks) != len(marks) {
		t.Fatalf("the launch file holds the rate %v and %d marks, want 1000 Hz and %d:\n%s", now.Time.Rate, len(now.Scale.Marks), len(marks), text)
	}
	if !strings.Contains(string(text), `shutter = "global"`) {
		t.Errorf("the launch file does not say that the shutter is global:\n%s", text)
	}
	for i, m := range now.Scale.Marks {
		if d := math.Abs(m.Y - marks[i].Y); d > handScatter {
			t.Errorf("mark %d is at y = %.2f px after snapping, %.2f px from where a hand put it", i, m.Y, d)
		}
	}
	if snapped := b.offBy(); snapped > snapLimit || rough < 1 {
		t.Errorf("snapped marks are off by %.2f px on average, by hand %.2f", snapped, rough)
	}
	b.press("Undo")
	b.wait(`!document.querySelectorAll(".steps button")[1].disabled`)
	b.press("Redo")
	b.wait(`document.querySelectorAll(".steps button")[1].disabled`)
	b.accessible("/setup/bittern", `document.querySelectorAll(".marks .off .num").length > 0 && document.querySelector(".stage img").complete`)

	b.wait(times + `.includes("1000 frames a second, as stated")`)

	b.press("Measure this launch")
	b.wait(`location.pathname === "/launch/bittern"`)
	b.open("/")
	b.wait(`document.querySelector(".entry .numbers .value")`)
}

const (
	// handScatter is how far marks by hand may be from the edges: they are drawn with a standard deviation of 0.5 px; px.
	handScatter = 2.5
	// snapLimit is the most that snapped marks may be off the fitted scale on average: an edge is found to some tenths; px.
	snapLimit = 0.35
)

// placeMark presses the picture at a place of the frame, px.
func (b *tab) placeMark(x, y float64) {
	b.Helper()
	eval[bool](b, `(document.querySelector(".stage").scrollIntoView({block: "center", behavior: "instant"}), true)`)
	at := eval[[]float64](b, fmt.Sprintf(`(() => {
		const r = document.querySelector(".stage").getBoundingClientRect();
		const w = document.querySelector(".stage svg").viewBox.baseVal.width;
		return [r.left + (%g + 0.5) * r.width / w, r.top + (%g + 0.5) * r.width / w];
	})()`, x, y))
	b.must(chromedp.Do(b.ctx, chromedp.MouseClickXY(at[0], at[1])))
}

// offBy is how far the marks are off the scale along the rod, px: the mean over them.
func (b *tab) offBy() float64 {
	b.Helper()
	b.wait(`document.querySelectorAll(".marks .off .num").length > 2`)
	return eval[float64](b, `fetch("/api/launches/bittern/setup").then(r => r.json()).then(v => v.residuals.reduce((s, r) => s + Math.abs(r[1]), 0) / v.residuals.length)`)
}

// TestSetupOfOtherReferences gives the scale by an object of known length and by known points, with a second tab that is told.
func TestSetupOfOtherReferences(t *testing.T) {
	t.Parallel()
	dir, _ := filmed(t, "bittern", false)
	path := filepath.Join(dir, "launches", "bittern", "launch.toml")
	if err := os.WriteFile(path, []byte("format = 1\n\n[footage]\npath = \"../../footage/bittern\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	s := serve(t, dir)
	b, other := openTab(t, s), openTab(t, s)
	for _, tab := range []*tab{b, other} {
		tab.open("/setup/bittern")
		tab.wait(`document.querySelector(".kept")?.textContent === "Nothing is marked yet." && document.querySelector(".stage img").complete`)
	}
	kept := `document.querySelector(".kept").textContent === "All is kept."`
	// A mark that is no whole reference yet outlives a reload; an edit is kept though its page is left at once.
	b.placeMark(120, 300)
	b.wait(`document.querySelector(".kept").textContent === "Not kept yet: place 1 more mark."`)
	b.write("#camera-focal_length", "16 mm")
	b.open("/setup/bittern")
	b.wait(`document.querySelectorAll(".marks tbody tr").length === 1 && document.querySelector("#camera-focal_length").value === "16 mm"`)
	b.press("Remove")

	b.choose("#kind", "length")
	b.placeMark(120, 400)
	b.placeMark(120, 520)
	b.wait(`document.querySelector(".kept").textContent === "Not kept yet: say how long it is."`)
	b.write("#scale-length", "0.42(1) m")
	b.wait(kept)
	other.wait(`document.querySelectorAll(".marks tbody tr").length === 2 && document.getElementById("said").textContent.includes("another tab")`)
	if got := launchAt(t, path).Scale; got.Kind != "length" || len(got.Ends) != 2 {
		t.Errorf("the launch file holds %+v, want a length with two ends", got)
	}

	b.choose("#kind", "plane")
	b.placeMark(60, 400)
	b.placeMark(60, 520)
	for i, at := range [][2]string{{"0.5 m", "0.5 m"}, {"0.5 m", "0 m"}, {"0 m", "0.5 m"}, {"0 m", "0 m"}} {
		row := fmt.Sprintf(".marks tbody tr:nth-child(%d) ", i+1)
		b.write(row+"input.at", at[0])
		b.write(row+"input.across", at[1])
	}
	b.wait(kept)
	if got := launchAt(t, path).Scale; got.Kind != "plane" || len(got.Points) != 4 {
		t.Errorf("the launch file holds %+v, want a plane with four points", got)
	}
	other.wait(`document.querySelectorAll(".marks tbody tr").length === 4`)

	b.write("#launch-title", "Bittern, first flight")
	b.write("#launch-vehicle", "Bittern")
	b.write("#launch-date", "2026-05-16")
	// What is kept meanwhile does not take a condition out of the hand that writes it.
	b.press("Add a condition")
	b.write("#launch-vehicle", "Bittern II")
	b.wait(kept)
	b.write(".condition:last-child .key", "water")
	b.write(".condition:last-child .value", "35 mL")
	b.wait(kept)
	b.write(".condition:last-child .value", "350 mL")
	b.wait(kept)
	if got := launchAt(t, path); got.Title != "Bittern, first flight" || got.Date != "2026-05-16" || len(got.Conditions) != 1 || got.Conditions[0].Text != "350 mL" {
		t.Errorf("the launch file holds %q, %q, %+v", got.Title, got.Date, got.Conditions)
	}

	// What cannot be is refused in words; the file keeps what was good.
	b.allow = append(b.allow, "status of 422")
	b.write("#camera-tilt", "steep")
	b.wait(`document.querySelector(".kept.warn")?.textContent.includes("steep")`)
	b.write("#camera-tilt", "3(1) deg")
	b.wait(kept)
	b.write("#setup-name", "north-mast")
	b.press("Name it")
	b.wait(`document.getElementById("said").textContent.includes("north-mast")`)
	if got := launchAt(t, path); got.Setup != "north-mast" || got.Scale.Kind != "plane" {
		t.Errorf("the launch file holds the setup %q and the kind %q", got.Setup, got.Scale.Kind)
	}

	// Marked once, for every launch of the setup.
	b.press("Give them to the setup")
	b.wait(`document.getElementById("said").textContent.includes("are those of the setup north-mast")`)
	if text, err := os.ReadFile(filepath.Join(dir, "setups", "north-mast.toml")); err != nil || !strings.Contains(string(text), `kind = "plane"`) {
		t.Errorf("the setup's file: %v\n%s", err, text)
	}
	if text, err := os.ReadFile(path); err != nil || strings.Contains(string(text), "[scale]") {
		t.Errorf("the launch has a scale of its own still (%v):\n%s", err, text)
	}
	if got := launchAt(t, path); got.Scale.Kind != "plane" || len(got.Scale.Points) != 4 || got.Camera.Tilt.Value == 0 {
		t.Errorf("by its setup the launch has %+v, %+v", got.Scale, got.Camera)
	}
	b.press("Undo")
	b.wait(`[...document.querySelectorAll(".why")].some(e => e.textContent.startsWith("This launch has its own"))`)
}

// choose takes an option of a list.
func (b *tab) choose(selector, value string) {
	b.Helper()
	b.must(chromedp.Do(b.ctx, chromedp.SetValue(chromedp.CSS(selector), value)))
	eval[bool](b, fmt.Sprintf(`document.querySelector(%q).dispatchEvent(new Event("change", {bubbles: true}))`, selector))
}

func launchAt(t *testing.T, path string) *logbook.Launch {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	l, err := logbook.ParseLaunch(text, path)
	if err != nil {
		t.Fatalf("%v:\n%s", err, text)
	}
	return l
}
