package web_test

import (
	"strconv"
	"strings"
	"testing"
)

// TestRacePlaysInTheBrowser draws the race of two launches on the compare page and plays the clip: it lasts as long as its frames say,
// its time goes on, a place in it can be sought, and the photo finish is there. A reload shows them again without drawing.
func TestRacePlaysInTheBrowser(t *testing.T) {
	t.Parallel()
	b := openTab(t, serve(t, measuredTwins(t)))
	b.open("/compare?launch=bittern&launch=crake")
	b.wait(`document.querySelector(".race button[type=submit]")`)
	b.write("#race-finish", "1 m")
	b.write("#race-slow", "20")
	b.press("Draw the race")
	b.wait(`document.querySelector(".race video")?.readyState >= 2 && document.querySelector(".race img")?.naturalWidth > 0`)
	if got := eval[string](b, `document.querySelector(".race .finish li").innerText`); !strings.HasPrefix(got, "1 =") {
		t.Errorf("the first line of the finish reads %q, want a tie", got)
	}
	clip := eval[struct {
		Frames int     `json:"frames"`
		Rate   float64 `json:"rate_hz"`
	}](b, `fetch("/api/races/" + new URLSearchParams(location.search).get("race")).then(r => r.json()).then(v => v.clip)`)
	want := float64(clip.Frames) / clip.Rate
	if got := eval[float64](b, `document.querySelector(".race video").duration`); clip.Frames == 0 || got < want-0.05 || got > want+0.05 {
		t.Errorf("the clip lasts %g s in the browser, want %g", got, want)
	}
	b.press("Run")
	b.wait(`document.querySelector(".race video").currentTime > 0.3`)
	b.press("Stop")
	eval[bool](b, `(r => (r.value = r.max / 2, r.dispatchEvent(new Event("input")), true))(document.querySelector(".race .film input"))`)
	b.wait(`(v => v.paused && !v.seeking && Math.abs(v.currentTime - v.duration / 2) < 0.1)(document.querySelector(".race video"))`)
	before := eval[float64](b, `document.querySelector(".race video").currentTime`)
	b.press("A frame on")
	b.wait(`(v => !v.seeking && v.currentTime > ` + strconv.FormatFloat(before, 'f', 4, 64) + ` + 0.02)(document.querySelector(".race video"))`)
	b.keepPictures("race", ".race form")
	b.keepPictures("finish", ".race img")
	where := eval[string](b, `location.pathname + location.search`)
	b.accessible(where, `document.querySelector(".race video")?.readyState >= 1 && document.querySelector(".together canvas")?.ariaValueText`)

	// What cannot be drawn is said in words, and nothing leads out of the folder of races.
	b.allow = append(b.allow, "status of 422", "status of 404", "status of 400")
	b.write("#race-finish", "2")
	b.press("Draw the race")
	b.wait(`document.getElementById("said").innerText.includes('"2"')`)
	for _, path := range []string{"/api/races/0123456789abcdef", "/api/races/..%2f..", "/api/races/0123456789abcdef/race.json"} {
		if got := eval[float64](b, `fetch("`+path+`").then(r => r.status)`); got != 404 && got != 422 && got != 400 {
			t.Errorf("%s gives status %g", path, got)
		}
	}
}
