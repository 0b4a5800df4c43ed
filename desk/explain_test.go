package desk

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"padside/flight"
	"padside/logbook"
	"padside/metrology"
)

// plover is an invented bottle and what its owner knows of it.
var plover = flight.Bottle{Volume: 1e-3, Water: 0.25e-3, Pressure: 4.5e5, NozzleDiameter: 12e-3, DryMass: 0.1215, BodyDiameter: 0.082,
	DragCoefficient: 0.42, Exponent: 1.28, Discharge: 0.96, Site: flight.StandardSite()}

const ploverFile = `format = 1
kind = "bottle"
volume = "1000(5) mL"
water = "400 mL"
pressure = "4.50(4) bar"
nozzle_diameter = "12.0(1) mm"
dry_mass = "121.0(7) g"
body_diameter = "82 mm"
drag_coefficient = "0.45(10)"
`

// TestExplainDrawnLaunch explains a drawn launch from its pictures: what was fitted and what follows hold the truth it was drawn from, and a
// bottle that cannot have flown so is refused with the reason.
func TestExplainDrawnLaunch(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := plovers[0].launch(t, 1, `flight = "plover.toml"`)
	if err := os.WriteFile(filepath.Join(filepath.Dir(path), "plover.toml"), []byte(ploverFile), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := Explain(ctx, path, ExplainOptions{})
	if err != nil {
		t.Fatal(err)
	}
	b := plover
	f, err := b.Fly()
	if err != nil {
		t.Fatal(err)
	}
	_, apogee, _ := f.Apogee()
	truth := map[string]float64{"discharge": b.Discharge, "exponent": b.Exponent, "pressure": b.Pressure, "water": b.Water, "dry_mass": b.DryMass, "apogee": apogee,
		"end_of_thrust_speed": f.At(f.EndOfThrust).Speed, "stored_energy": b.StoredEnergy(), "initial_thrust": f.Thrust(0)}
	seen, held := 0, 0
	for _, a := range s.Answers {
		if want, ok := truth[a.ID]; ok && a.Status == metrology.Measured {
			seen++
			if a.Interval[0] <= want && want <= a.Interval[1] {
				held++
			} else {
				t.Logf("%s: %v, truth %g", a.ID, *a.Interval, want)
			}
		}
	}
	if seen < len(truth) || held < seen-1 {
		t.Errorf("%d of %d intervals hold the truth", held, seen)
	}
	if !s.Test.Fits || len(s.Correlation) != len(s.Fitted) || len(s.Residuals) < 60 || len(s.Phases) < 3 || len(s.Measured) == 0 {
		t.Errorf("test %+v, %d correlations, %d residuals, %d phases", s.Test, len(s.Correlation), len(s.Residuals), len(s.Phases))
	}
	if _, err := s.JSON(); err != nil {
		t.Error(err)
	}

	if _, err := Explain(ctx, path, ExplainOptions{Free: []string{"colour"}}); err == nil || !strings.Contains(err.Error(), "colour") {
		t.Errorf("nothing that can be free: %v, want something about the colour", err)
	}
	if _, err := explainPlover(t, "4.50(4) bar", "0.30 bar"); err == nil || !strings.Contains(err.Error(), "can give at most") {
		t.Errorf("energy that is not there: %v, want what it can give at most", err)
	}
}

// explainPlover explains the first plover, measured once for all tests, by its flight file with one
// input changed.
func explainPlover(t *testing.T, stated, now string) (*ExplainSheet, error) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "plover.toml")
	if err := os.WriteFile(path, []byte(strings.Replace(ploverFile, stated, now, 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := logbook.ReadFlight(path)
	if err != nil {
		t.Fatal(err)
	}
	return plovers[0].measured(t).explain(context.Background(), f, ExplainOptions{})
}

// TestWithhold: a model that does not fit gives no numbers of its own, and its JSON holds none.
func TestWithhold(t *testing.T) {
	t.Parallel()
	v, u := 1.0, 0.1
	s := &ExplainSheet{Answers: []metrology.Answer{{ID: "discharge", Status: metrology.Measured, Value: &v, U: &u, Interval: &[2]float64{0.8, 1.2}}}}
	s.withhold()
	b, err := json.Marshal(s.Answers)
	if err != nil || strings.Contains(string(b), "interval95") || !strings.Contains(string(b), "does not fit") {
		t.Errorf("%s, %v", b, err)
	}
}

func TestExplainNeedsAFlightFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "launch.toml")
	text := "format = 1\n[footage]\npath = \"x.mp4\"\n[scale]\nkind = \"rod\"\nmarks = [ { at = \"0 m\", x = 1.0, y = 9.0 }, { at = \"1 m\", x = 1.0, y = 2.0 } ]\n"
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Explain(context.Background(), path, ExplainOptions{}); err == nil || !strings.Contains(err.Error(), "flight file") {
		t.Errorf("a launch without a flight file: %v", err)
	}
	if _, err := Explain(context.Background(), path, ExplainOptions{Flight: filepath.Join(dir, "none.toml")}); err == nil || !strings.Contains(err.Error(), "none.toml") {
		t.Errorf("a flight file that is not there: %v", err)
	}
}
