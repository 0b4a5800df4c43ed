// Fills films one invented bottle rocket at five fills (those of the demo's club day), measures the pictures, explains the launches together
// with one flight model, and sets its best fill beside that of the truth they were drawn from. It leaves sweep.svg.
//
//	go run ./bench/fills -dir /tmp/fills
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"

	"padside/desk"
	"padside/flight"
	"padside/motion"
	"padside/scene"
	"padside/staged"
)

func main() {
	log.SetFlags(0)
	dir := flag.String("dir", "", "folder for footage and launch files, kept where it exists already")
	flag.Parse()
	if *dir == "" {
		log.Fatal("fills: give -dir")
	}
	ctx := context.Background()
	club := scene.ClubDay()
	var paths []string
	for _, f := range club.Fills {
		path, err := draw(ctx, *dir, f)
		if err != nil {
			log.Fatal(err)
		}
		paths = append(paths, path)
	}
	if err := os.WriteFile(filepath.Join(*dir, "heron.toml"), []byte(desk.ClubModel), 0o644); err != nil {
		log.Fatal(err)
	}
	s, err := desk.Compare(ctx, paths, desk.CompareOptions{Sweep: "water"})
	if err != nil {
		log.Fatal(err)
	}
	if s.Model == nil {
		log.Fatal("fills: no model was fitted")
	}
	report(s, *club.Fills[0].Bottle)
	if err := os.WriteFile(filepath.Join(*dir, "sweep.svg"), plot(s, *club.Fills[0].Bottle), 0o644); err != nil {
		log.Fatal(err)
	}
}

// draw films one launch, if that was not done before, and writes its launch file.
func draw(ctx context.Context, dir string, f scene.ClubLaunch) (string, error) {
	launch := filepath.Join(dir, "launches", f.Name, "launch.toml")
	stills := filepath.Join(dir, "footage", f.Name)
	for _, d := range []string{stills, filepath.Dir(launch)} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			return "", err
		}
	}
	if list, err := os.ReadDir(stills); err != nil || len(list) == 0 {
		if _, err := scene.WriteStills(ctx, f.Take.Scene, stills, scene.StillsOptions{Format: scene.JPEG}); err != nil {
			return "", err
		}
	}
	// Fill and pressure as read on the day: off by a part of their uncertainty.
	f.Take.Conditions = []scene.Condition{{Key: "water", Value: fmt.Sprintf("%.0f(3) mL", f.Bottle.Water*1e6+1.5)}, {Key: "pressure", Value: "4.53(5) bar"}}
	setup := f.Take.Setup
	f.Take.Setup = ""                                              // so that its sections stand in the launch file
	text := staged.LaunchText(f.Take, "../../footage/"+f.Name, 12) // the marks are those of one setup: set once
	text = append([]byte(fmt.Sprintf("format = 1\nsetup = %q\nflight = \"../../heron.toml\"\n", setup)), text[len("format = 1\n"):]...)
	return launch, os.WriteFile(launch, text, 0o644)
}

// truth is an answer of the true bottle at a fill.
func truth(b flight.Bottle, water float64, k *desk.ModelCurve) float64 {
	b.Water = water
	f, err := b.Fly()
	if err != nil {
		return math.NaN()
	}
	switch k.ID {
	case motion.TimeToSpeed:
		if t, ok := f.SpeedReached(*k.Speed); ok {
			return t
		}
	case motion.GateSpeed:
		if t, ok := f.HeightReached(*k.Height); ok {
			return f.At(t).Speed
		}
	case "apogee":
		_, h, _ := f.Apogee()
		return h
	default:
		_, v := f.PeakSpeed(f.End)
		return v
	}
	return math.NaN()
}

// report prints the fitted inputs and the optimum of each curve beside the truth.
func report(s *desk.CompareSheet, b flight.Bottle) {
	known := map[string]float64{"discharge": b.Discharge, "exponent": b.Exponent, "drag_coefficient": b.DragCoefficient, "dry_mass": b.DryMass,
		"nozzle_diameter": b.NozzleDiameter, "volume": b.Volume, "body_diameter": b.BodyDiameter}
	x := s.Model.Test
	fmt.Printf("residuals of %d frames: noise %.3g mm, slow %.3g mm, fits: %v\n", x.Frames, 1e3*x.Noise, 1e3*x.Smooth, x.Fits)
	for _, a := range s.Model.Fitted {
		if t, ok := known[a.ID]; ok && a.Value != nil {
			fmt.Printf("%-18s %.5g (%.5g to %.5g), truth %.5g%s\n", a.ID, *a.Value, a.Interval[0], a.Interval[1], t, outside(*a.Interval, t))
		}
	}
	for i := range s.Model.Curves {
		k := &s.Model.Curves[i]
		best, at := math.NaN(), 0.0
		for w := 0.04e-3; w < 1.0e-3; w += 0.5e-6 {
			v := truth(b, w, k)
			better := v > best
			if k.ID == motion.TimeToSpeed {
				better = v < best
			}
			if better || math.IsNaN(best) && !math.IsNaN(v) {
				best, at = v, w
			}
		}
		what := k.ID
		if k.Speed != nil {
			what += fmt.Sprintf(" %.4g m/s", *k.Speed)
		}
		if k.Height != nil {
			what += fmt.Sprintf(" at %.3g m", *k.Height)
		}
		if k.AtEnd {
			fmt.Printf("%-28s best at an end of the range looked at, %.1f mL; truth %.1f mL\n", what, 1e6*k.Optimum, 1e6*at)
			continue
		}
		fmt.Printf("%-28s best at %.1f mL (%.1f to %.1f), %.4g %s there; truth %.1f mL, %.4g%s\n", what, 1e6*k.Optimum, 1e6*k.Interval[0], 1e6*k.Interval[1], k.Value, k.Unit,
			1e6*at, best, outside(k.Interval, at))
	}
}

func outside(i [2]float64, v float64) string {
	if v < i[0] || v > i[1] {
		return ": outside"
	}
	return ""
}
