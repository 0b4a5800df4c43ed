package web_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestModelOfALaunch explains a launch in the browser: a page that says what is missing, a fit with its progress, curves, tables, cautions; and
// that a changed flight file makes it stale.
func TestModelOfALaunch(t *testing.T) {
	t.Parallel()
	dir, _ := filmed(t, "plover", false)
	file, model := filepath.Join(dir, "launches", "plover", "launch.toml"), filepath.Join(dir, "flights", "plover.toml")
	put(t, model, []byte(ploverFile))
	plain, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	named := strings.Replace(string(plain), "format = 1\n", "format = 1\nflight = \"../../flights/plover.toml\"\n", 1)
	tab := openTab(t, serve(t, dir))
	tab.open("/model/plover")
	tab.wait(`document.getElementById("flight").innerText.includes("names no flight file")`)
	if err := os.WriteFile(file, []byte(named), 0o644); err != nil {
		t.Fatal(err)
	}
	tab.open("/model/plover")
	tab.wait(`document.getElementById("flight").innerText.includes("has not been measured")`)
	tab.open("/launch/plover")
	tab.press("Measure this launch")
	tab.wait(`document.querySelector(".headline .sentence") && document.querySelector(".standing").hidden`)
	tab.open("/model/plover")
	tab.press("Fit the model")
	tab.wait(`document.querySelector(".verdict") && document.querySelectorAll(".motion svg polyline").length > 3 && document.querySelectorAll(".swept svg.stack").length === 2`)
	for _, want := range []string{"The model fits.", "Discharge", "Apogee", "J are stored", "not a clearance", "4.8 bar"} {
		if !eval[bool](tab, `document.getElementById("flight").innerText.includes("`+want+`")`) {
			t.Errorf("the page does not say %q", want)
		}
	}
	tab.accessible("/model/plover", `document.querySelector(".swept svg.stack") && document.querySelector(".safety")`)
	if err := os.WriteFile(model, []byte(strings.Replace(ploverFile, "121.0(7) g", "243.0(7) g", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	tab.open("/model/plover")
	tab.wait(`document.getElementById("flight").innerText.includes("have changed since")`)
	tab.press("Fit it again")
	tab.wait(`document.querySelector(".verdict.warn")?.innerText.includes("impossible flight") && document.querySelectorAll(".motion svg .dot").length > 60`)
	tab.keepPictures("model-impossible", "h1")
}
