package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

func TestEmptyLogbookSaysHowToBegin(t *testing.T) {
	t.Parallel()
	b := openTab(t, serve(t, filepath.Join(t.TempDir(), "book")))
	b.wait(`document.querySelector(".begin")?.offsetParent`)
	b.accessible("/", `document.querySelector(".begin")?.offsetParent`)
	// What leads nowhere, and what has no token, is refused in the same look.
	b.allow = append(b.allow, "status of 404")
	b.accessible("/launch/nobody", `document.querySelector(".refusal .hint") && document.querySelector('.refusal a[href="/"]')`)
	b.accessible("/heats", `document.querySelector(".heat-form")?.innerText.includes("No launch yet")`)
	b.open("/compare")
	b.wait(`document.querySelector("main a[href='/']") && !document.querySelector("#said").textContent`)
}

// TestLogbookOfALaunch brings a launch in as its footage and measures it, with a second tab watching.
func TestLogbookOfALaunch(t *testing.T) {
	t.Parallel()
	dir, _ := filmed(t, "bittern", false)
	s := serve(t, dir)
	b := openTab(t, s)
	b.wait(`document.querySelector(".entry .state")?.textContent.includes("not measured yet")`)
	other := openTab(t, s)
	other.wait(`document.querySelector(".entry")`)

	eval[string](b, `fetch("/api/launches/bittern/measure", {method: "POST"}).then(r => r.text())`)
	running := `document.querySelector("#work .job progress")`
	b.wait(running)
	other.wait(running)
	b.reload()
	b.wait(running + ` || document.querySelector(".entry .numbers .value")`)
	for _, tab := range []*tab{b, other} {
		tab.wait(`document.querySelector(".entry .exposure img")?.complete && document.querySelector(".entry .exposure img").naturalHeight > 100`)
		tab.wait(`document.querySelectorAll(".entry .numbers tbody tr").length >= 2`)
		tab.wait(`!document.querySelector("#work .job")`)
	}
	if said := eval[string](other, `document.getElementById("said").textContent`); said != "bittern is measured." {
		t.Errorf("the second tab says %q at the end of the job", said)
	}
	// All numbers stand on one decimal point.
	at := eval[[]float64](b, `[...document.querySelectorAll(".value .part")].map(e => Math.round(10 * e.getBoundingClientRect().left) / 10)`)
	for _, x := range at {
		if x != at[0] {
			t.Errorf("decimal points at %v px, want one place", at)
		}
	}
	b.accessible("/", `document.querySelector(".entry .numbers .value")`)
	b.wait(`document.querySelector(".entry .numbers .value")`)

	// To the trash and back, by the words on the page.
	b.press("Remove")
	b.wait(`document.querySelector(".begin").offsetParent`)
	other.wait(`document.querySelector(".begin").offsetParent`)
	b.press("Bring it back")
	b.wait(`document.querySelector(".entry .numbers .value")`)
	other.wait(`document.querySelector(".entry .numbers .value")`)
	// The other tab finds it in the trash itself.
	b.press("Remove")
	other.wait(`document.querySelector(".trash summary")?.innerText === "In the trash: 1"`)
	other.click(".trash summary")
	other.inspect("the logbook with its trash open", allRules)
	other.press("Bring it back")
	b.wait(`document.querySelector(".entry .numbers .value") && document.querySelector(".trash").hidden`)
}

func TestLogbookKeepsItsPlaceInTheAddress(t *testing.T) {
	t.Parallel()
	dir, _ := filmed(t, "bittern", false)
	text, err := os.ReadFile(filepath.Join(dir, "launches", "bittern", "launch.toml"))
	if err != nil {
		t.Fatal(err)
	}
	for i := range 60 {
		launch := filepath.Join(dir, "launches", fmt.Sprintf("crake-%02d", i))
		if err := os.MkdirAll(launch, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(launch, "launch.toml"), fmt.Appendf(nil, "format = 1\ntitle = \"Crake %02d\"\n%s", i, afterTitle(text)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	b := openTab(t, serve(t, dir))
	b.wait(`document.querySelectorAll(".entry").length === 40`)
	b.write("#find", "crake-1")
	b.wait(`document.querySelectorAll(".entry").length === 10`)
	b.choose("#by", "title")
	b.press("Z to A")
	b.wait(`document.querySelector(".entry h2").textContent === "Crake 10"`)
	b.click("#pick-crake-12")
	b.click("#pick-crake-17")
	b.wait(`document.querySelector(".chosen").textContent.includes("Crake 12, Crake 17")`)
	b.reload()
	b.wait(`document.querySelectorAll(".entry").length === 10 && document.querySelector("#pick-crake-12").checked && document.querySelector("#pick-crake-17").checked`)
	if got := eval[string](b, `document.querySelector(".entry h2").textContent`); got != "Crake 10" {
		t.Errorf("after a reload the first entry is %s, want Crake 10", got)
	}
	// The rest of a long logbook comes as the reader gets there.
	b.open("/")
	b.wait(`document.querySelectorAll(".entry").length === 40`)
	eval[bool](b, `(scrollTo(0, document.body.scrollHeight), true)`)
	b.wait(`document.querySelectorAll(".entry").length === 61`)
}

// afterTitle cuts format and title off a launch file.
func afterTitle(text []byte) []byte {
	lines := 0
	for i, c := range text {
		if c == '\n' {
			if lines++; lines == 2 {
				return text[i+1:]
			}
		}
	}
	return nil
}
