package web_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestHeatOfTwins races one piece of footage against itself: from the choice on the logbook page over the form to a tie, a breach, the result sheet
// and the public board, which is told when a launch is measured.
func TestHeatOfTwins(t *testing.T) {
	t.Parallel()
	dir := measuredTwins(t)
	text, err := os.ReadFile(filepath.Join(dir, "launches", "crake", "launch.toml"))
	if err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(dir, "launches", "dunlin", "launch.toml"), bytes.Replace(text, []byte("two litres"), []byte("one litre"), 1)) // not measured yet
	s := serveAs(t, exec.Command(program(t), "serve", dir, "--no-browser", "--board", "127.0.0.1:0"))
	b := openTab(t, s)
	b.open("/")
	b.wait(`document.querySelectorAll(".entry input[type=checkbox]").length === 3`)
	eval[bool](b, `(document.querySelectorAll(".entry input[type=checkbox]").forEach(e => e.click()), true)`)
	b.press("Race them")
	b.wait(`document.querySelectorAll(".entered li").length === 3 && document.getElementById("heat-at").value`)
	b.accessible(eval[string](b, "location.pathname + location.search"), `document.querySelectorAll(".entered li").length === 3`)
	b.write("#heat-title", `Twins' "heat" <b>`)
	b.write("#heat-at", "36")
	b.press("Make this heat")
	b.allow = append(b.allow, "status of 422")
	b.wait(`document.getElementById("said").innerText.includes("no unit")`)
	b.write("#heat-at", "36 km/h")
	b.press("Make this heat")
	b.wait(`document.querySelector(".out button") && location.pathname.startsWith("/heats/twins")`)

	// The board waits with the one that is not measured, and is told.
	board := eval[string](b, `document.getElementById("heat").dataset.board`)
	public := openTab(t, &served{base: strings.TrimSuffix(board, "/"), enter: board})
	public.wait(`document.querySelectorAll(".out [data-entry]").length === 1 && document.querySelectorAll(".place.tied .entry").length === 2 && document.querySelector("h1").innerText === "Twins' \"heat\" <b>"`)
	b.press("Measure them")
	b.wait(`document.querySelectorAll(".order tbody tr").length === 3`)
	if got := eval[string](b, `document.querySelector(".order tbody th.place").innerText`); got != "1 =" {
		t.Errorf("the first place reads %q, want a tie", got)
	}
	public.wait(`document.querySelectorAll(".place.tied .entry").length === 3`)

	// A rule, and who breaks it.
	b.wait(`document.querySelector(".change .heat-form")`)
	eval[bool](b, `(document.querySelector("details.change").open = true)`)
	b.press("Add a rule")
	b.write("#rule-1", "class")
	eval[bool](b, `(e => { e.value = "reads"; e.dispatchEvent(new Event("change")); return true })(document.getElementById("rule-1-way"))`)
	b.write("#rule-1-is", "two litres")
	b.press("Keep these changes")
	b.wait(`document.querySelector(".out .reason")?.innerText.includes("Class one litre, where two litres is allowed")`)
	where := eval[string](b, "location.pathname")
	b.accessible(where, `document.querySelector(".order") && document.querySelector(".change .heat-form")`)
	public.wait(`document.querySelector(".out .reason")?.innerText.includes("one litre") && document.querySelectorAll(".place.tied .entry").length === 2`)
	for _, width := range []int64{1280, 360} {
		rules := allRules
		for _, paper := range []string{"light", "dark"} {
			public.as(width, paper)
			public.inspect(fmt.Sprintf("the board at %d px, %s", width, paper), rules)
			rules = colourRules
		}
	}

	b.open(where + "/sheet")
	b.wait(`document.querySelector("h1").innerText === "Twins' \"heat\" <b>" && document.querySelectorAll(".tied tr").length === 2 && document.querySelector(".out").innerText.includes("one litre") && document.querySelector("main").innerText.includes('A place with "=" is shared')`)
	b.inspect("the result sheet", allRules)

	b.allow = append(b.allow, "status of 404")
	b.open("/heats/nobody")
	b.wait(`document.querySelector(".refusal .message").innerText.includes("nobody")`)
}
