package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestPlanPage begins a shoot from the sample, is refused a wrong one, reads what it would answer, rehearses a mode, changes the light until nothing can be
// answered, and puts it aside.
func TestPlanPage(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := serve(t, dir)
	b := openTab(t, s)
	b.open("/shoots")
	b.wait(`document.getElementById("shoot-text")?.value.includes("[[camera]]")`)
	b.accessible("/shoots", `document.getElementById("shoot-text")`)
	b.keepPictures("shoots", "body")

	sample := eval[string](b, `document.getElementById("shoot-text").value`)
	small := strings.Replace(sample, `modes = [ { width = 1920, height = 1080, rate = "1000 Hz" } ]`, `modes = [ { width = 480, height = 240, rate = "500 Hz" } ]`, 1)
	small = strings.ReplaceAll(small, `within = "2 %"`, `within = "4 %"`)
	small = strings.Replace(small, `pixel_pitch = "6.6 um"`, `pixel_pitch = "26.7 um"`, 1)
	set := func(text string) {
		eval[bool](b, fmt.Sprintf(`(document.getElementById("shoot-text").value = %q, true)`, text))
	}
	b.allow = append(b.allow, "status of 422")
	set(strings.Replace(small, "widest", "widset", 1))
	b.press("Plan this shoot")
	b.wait(`document.getElementById("said").innerText.includes("widset") && document.getElementById("said").innerText.includes("Did you mean")`)
	set(small)
	b.press("Plan this shoot")
	b.wait(`location.pathname === "/shoots/club-day" && document.querySelectorAll(".mode").length === 2 && document.querySelector(".verdicts strong")`)
	b.wait(`document.querySelectorAll(".side .nose").length > 40`)
	if got := eval[string](b, `document.querySelector(".mode .verdicts li").innerText`); !strings.Contains(got, "yes") || !strings.Contains(got, "Time to 60 mph") {
		t.Errorf("the first verdict reads %q", got)
	}
	if got := eval[string](b, `document.querySelector(".safety").innerText`); !strings.Contains(got, "stand-off") {
		t.Errorf("the cautions read %q", got)
	}
	b.accessible("/shoots/club-day", `document.querySelectorAll(".side .nose").length > 40`)
	b.keepPictures("plan", "body")

	eval[bool](b, `(document.querySelector(".mode button").click(), true)`)
	b.wait(`document.querySelector(".mode .verdicts").innerText.includes("rehearsed: half width")`)
	b.keepPictures("plan-rehearsed", ".mode")

	eval[bool](b, `(document.querySelector("details.change").open = true)`)
	set(strings.Replace(small, `"bright overcast"`, `-2`, 1))
	b.press("Keep these changes and work it out")
	b.wait(`[...document.querySelectorAll(".verdicts .no")].length === 4 && document.querySelector(".verdicts .said").innerText.includes("Too dark")`)
	if text, err := os.ReadFile(filepath.Join(dir, "shoots", "club-day", "shoot.toml")); err != nil || !strings.Contains(string(text), "ev100 = -2") {
		t.Errorf("the file kept: %v\n%s", err, text)
	}
	eval[bool](b, `(document.querySelector("details.change").open = true)`)
	b.press("Put this shoot into the trash")
	b.wait(`location.pathname === "/shoots" && document.querySelector(".shoot-list").innerText.includes("No shoot yet")`)
}
