package web_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"padside/desk"
	"padside/flight"
	"padside/scene"
)

// TestModelOfALaunch explains a launch in the browser: a page that says what is missing, a fit with its progress, curves, tables, cautions; and
// that a changed flight file makes it stale.
func TestModelOfALaunch(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws a launch and drives a real browser")
	}
	dir := filepath.Join(t.TempDir(), "book")
	footage, launch := filepath.Join(dir, "footage", "plover"), filepath.Join(dir, "launches", "plover")
	for _, d := range []string{footage, launch, filepath.Join(dir, "flights")} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	b := flight.Bottle{Volume: 1e-3, Water: 0.25e-3, Pressure: 4.5e5, NozzleDiameter: 12e-3, DryMass: 0.1215, BodyDiameter: 0.082, DragCoefficient: 0.42,
		Exponent: 1.28, Discharge: 0.96, Site: flight.StandardSite()}
	take := scene.BottleRocket(61, scene.BottleOptions{Rate: 1000, Width: 240, Height: 600, Bottle: &b})
	take.Conditions = []scene.Condition{{Key: "water", Value: "250(2) mL"}}
	if _, err := scene.WriteStills(t.Context(), take.Scene, footage, scene.StillsOptions{Format: scene.JPEG}); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(launch, "launch.toml")
	plain := string(desk.LaunchText(take, "../../footage/plover", 1))
	named := strings.Replace(plain, "format = 1\n", "format = 1\nflight = \"../../flights/plover.toml\"\n", 1)
	model := filepath.Join(dir, "flights", "plover.toml")
	const stated = "format = 1\nkind = \"bottle\"\nvolume = \"1000(5) mL\"\nwater = \"400 mL\"\npressure = \"4.50(4) bar\"\nnozzle_diameter = \"12.0(1) mm\"\n" +
		"dry_mass = \"121.0(7) g\"\nbody_diameter = \"82 mm\"\ndrag_coefficient = \"0.45(10)\"\n"
	for name, text := range map[string]string{file: plain, model: stated} {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
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
	if err := os.WriteFile(model, []byte(strings.Replace(stated, "121.0(7) g", "135.0(7) g", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	tab.open("/model/plover")
	tab.wait(`document.getElementById("flight").innerText.includes("have changed since")`)
}
