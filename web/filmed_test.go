package web_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"padside/desk"
	"padside/flight"
	"padside/scene"
	"padside/staged"
)

// plover is the invented bottle of the one launch that the tests of this package share, with 250 mL; ploverFile is what its owner knows of it.
var plover = flight.Bottle{Volume: 1e-3, Water: 0.25e-3, Pressure: 4.5e5, NozzleDiameter: 12e-3, DryMass: 0.1215, BodyDiameter: 0.082, DragCoefficient: 0.42,
	Exponent: 1.28, Discharge: 0.96, Site: flight.StandardSite()}

const ploverFile = "format = 1\nkind = \"bottle\"\nvolume = \"1000(5) mL\"\nwater = \"400 mL\"\npressure = \"4.50(4) bar\"\nnozzle_diameter = \"12.0(1) mm\"\n" +
	"dry_mass = \"121.0(7) g\"\nbody_diameter = \"82 mm\"\ndrag_coefficient = \"0.45(10)\"\n"

// ploverTake is its launch, filmed.
func ploverTake() *scene.Take {
	b := plover
	take := scene.BottleRocket(24, scene.BottleOptions{Rate: 1000, Width: 240, Height: 600, Bottle: &b})
	take.Conditions = []scene.Condition{{Key: "water", Value: "250(2) mL"}}
	return take
}

// drawn is that launch as stills, drawn once; twins is a logbook that holds it twice, measured once.
type drawn struct {
	once sync.Once
	dir  string
	err  error
}

var stillsOfAll, twins drawn

// of makes the folder with make, unless that was done. What is in it is copied and never changed.
func (d *drawn) of(t *testing.T, fill func(dir string) error) string {
	t.Helper()
	if testing.Short() {
		t.Skip("draws a launch and drives a real browser")
	}
	d.once.Do(func() {
		if d.dir, d.err = os.MkdirTemp("", "padside-web-drawn-"); d.err == nil {
			d.err = fill(d.dir)
		}
	})
	if d.err != nil {
		t.Fatal(d.err)
	}
	return d.dir
}

// removeDrawn clears up after all tests.
func removeDrawn() {
	os.RemoveAll(stillsOfAll.dir)
	os.RemoveAll(twins.dir)
}

// still copies the stills of the launch into a folder and returns their paths.
func still(t *testing.T, to string) []string {
	t.Helper()
	from := stillsOfAll.of(t, func(dir string) error {
		_, err := scene.WriteStills(t.Context(), ploverTake().Scene, dir, scene.StillsOptions{Format: scene.JPEG})
		return err
	})
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	list, err := filepath.Glob(filepath.Join(to, "*"))
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// filmed lays the launch into a new logbook's folder as footage/NAME, with its launch file unless bare.
func filmed(t *testing.T, name string, bare bool) (dir string, stills []string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "book")
	if bare {
		return dir, still(t, filepath.Join(t.TempDir(), name))
	}
	stills = still(t, filepath.Join(dir, "footage", name))
	put(t, filepath.Join(dir, "launches", name, "launch.toml"), staged.LaunchText(ploverTake(), "../../footage/"+name, 1))
	return dir, stills
}

// put writes a file and the folders it lies in.
func put(t *testing.T, path string, text []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
}

// measuredTwins is a logbook of one flight twice, as bittern and as crake, both measured.
func measuredTwins(t *testing.T) string {
	t.Helper()
	from := twins.of(t, func(dir string) error {
		still(t, filepath.Join(dir, "footage", "bittern"))
		text := staged.LaunchText(ploverTake(), "../../footage/bittern", 1)
		put(t, filepath.Join(dir, "launches", "bittern", "launch.toml"), bytes.Replace(text, []byte("[conditions]\n"), []byte("[conditions]\nclass = \"Two litres\"\n"), 1))
		text = bytes.Replace(text, []byte(`title = "`), []byte(`title = "Twin of `), 1)
		put(t, filepath.Join(dir, "launches", "crake", "launch.toml"), bytes.Replace(text, []byte("[conditions]\n"), []byte("[conditions]\nclass = \"two litres\"\n"), 1))
		return measure(dir, "bittern", "crake")
	})
	dir := filepath.Join(t.TempDir(), "book")
	if err := os.CopyFS(dir, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	return dir
}

// measure measures launches of a logbook.
func measure(dir string, names ...string) error {
	d, err := desk.Open(dir, true)
	if err != nil {
		return err
	}
	defer d.Close()
	for _, name := range names {
		j, err := d.Measure(name)
		for err == nil && !j.Over() {
			time.Sleep(20 * time.Millisecond)
			j, err = d.Job(j.ID)
		}
		if err != nil {
			return err
		}
		if j.State != desk.JobDone {
			return fmt.Errorf("measure %s: %+v", name, j.Problem)
		}
	}
	return nil
}
