package web_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestCompareTwins takes one piece of footage that was measured as two launches, chooses both on the logbook page, and wants them compared: they
// cannot be told apart, so they share the first place, and every ratio's interval holds 1.
func TestCompareTwins(t *testing.T) {
	t.Parallel()
	dir := measuredTwins(t)
	b := openTab(t, serve(t, dir))
	b.open("/")
	b.wait(`document.querySelectorAll(".entry .numbers .value").length > 1`)
	eval[bool](b, `(document.querySelectorAll(".entry input[type=checkbox]").forEach(e => e.click()), true)`)
	b.press("Compare them")
	b.wait(`document.querySelectorAll(".roster li").length === 2 && document.querySelector(".together canvas").ariaValueText`)
	if got := eval[string](b, `document.querySelector(".places li").innerText`); !strings.HasPrefix(got, "1 =") {
		t.Errorf("the first place reads %q, want a tie", got)
	}
	if off := eval[float64](b, `fetch("/api/compare" + location.search).then(r => r.json()).then(v => v.rows.flatMap(r => r.ratios).filter(p => p.interval95[0] > 1 || p.interval95[1] < 1).length)`); off > 0 {
		t.Errorf("%g ratios of one flight to itself do not hold 1", off)
	}
	where := eval[string](b, `location.pathname + location.search`)
	b.accessible(where+"&repeats=1", `document.querySelector(".together canvas")?.ariaValueText && document.querySelector(".repeats")`)

	// What cannot be compared is said in words.
	b.allow = append(b.allow, "status of 422", "status of 404")
	b.open("/compare")
	b.wait(`document.getElementById("compare").innerText.startsWith("Choose launches")`)
	b.open("/compare?launch=bittern&launch=nobody")
	b.wait(`document.getElementById("said").innerText.includes("nobody")`)

	// Footage that went is said on the card and the page, and keeps its launches out until they are accepted.
	if err := os.Rename(filepath.Join(dir, "footage", "bittern"), filepath.Join(dir, "footage", "elsewhere")); err != nil {
		t.Fatal(err)
	}
	b.open(where)
	b.wait(`document.getElementById("said").innerText.includes("footage is not where it was")`)
	b.open("/")
	b.wait(`document.querySelectorAll(".entry .state.warn").length === 2`)
	b.open("/launch/bittern")
	b.press("Accept the answers all the same")
	b.wait(`document.querySelector(".standing").innerText.includes("were accepted without it")`)
}
