// Thrust films invented motor rockets (those of scene.MotorRocket), measures the pictures, explains each launch with a flight file whose thrust
// curve has the right shape but is off by a tenth, masses and drag off by their uncertainty, and sets what it finds beside the truth.
//
//	go run ./bench/thrust -dir /tmp/thrust -seeds 4
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"

	"padside/desk"
	"padside/flight"
	"padside/scene"
	"padside/staged"
)

func main() {
	log.SetFlags(0)
	dir := flag.String("dir", "", "folder for footage and launch files, kept where it exists already")
	seeds := flag.Int("seeds", 4, "launches")
	first := flag.Uint64("first", 6000, "first seed")
	flag.Parse()
	if *dir == "" {
		log.Fatal("thrust: give -dir")
	}
	ctx := context.Background()
	for i := range *seeds {
		seed := *first + uint64(i)
		t := scene.MotorRocket(seed)
		launch, err := film(ctx, filepath.Join(*dir, fmt.Sprint(seed)), t, seed)
		if err != nil {
			log.Fatal(err)
		}
		s, err := desk.Explain(ctx, launch, desk.ExplainOptions{})
		if err != nil {
			fmt.Printf("seed %d: %v\n", seed, err)
			continue
		}
		report(seed, s, t.Flights[0])
	}
}

// tooWeak is the thrust curve's, as its owner has it, over the truth; cut how often it is written down, s.
const (
	tooWeak = 0.9
	cut     = 0.01
)

// film draws a launch, if that was not done before, and writes its launch file, flight file and thrust curve.
func film(ctx context.Context, dir string, t *scene.Take, seed uint64) (string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", err
	}
	clip := filepath.Join(dir, "clip.mp4")
	if _, err := os.Stat(clip); err != nil {
		if err := scene.WriteClip(ctx, t.Scene, clip, scene.ClipOptions{CRF: 16}); err != nil {
			return "", err
		}
	}
	f := t.Flights[0]
	var curve strings.Builder
	for at := 0.0; at < f.EndOfThrust; at += cut {
		fmt.Fprintf(&curve, "%.4f,%.4f\n", at, tooWeak*f.Thrust(at))
	}
	fmt.Fprintf(&curve, "%.4f,0\n", f.EndOfThrust)
	r := rand.New(rand.NewPCG(seed, 0x7472))
	wet, dry := f.Mass(0), f.Mass(f.EndOfThrust+0.1)
	file := fmt.Sprintf("format = 1\nkind = \"motor\"\nthrust = \"thrust.csv\"\npropellant_mass = \"%.1f g\"\ndry_mass = \"%.1f(3.0) g\"\nbody_diameter = \"%.1f mm\"\ndrag_coefficient = \"%.3f(80)\"\nrod_length = \"1.5 m\"\n"+
		"[site]\nelevation = \"0 m\"\nair_temperature = \"15 degC\"\nlatitude = \"45 deg\"\n",
		1e3*(wet-dry), 1e3*dry+3*r.NormFloat64(), 1e3*t.Scene.Vehicles[0].Diameter, 0.55+0.05*r.NormFloat64())
	launch := filepath.Join(dir, "launch.toml")
	text := strings.Replace(string(staged.LaunchText(t, "clip.mp4", seed)), "format = 1\n", "format = 1\nflight = \"flight.toml\"\n", 1)
	for name, text := range map[string]string{launch: text, filepath.Join(dir, "flight.toml"): file, filepath.Join(dir, "thrust.csv"): curve.String()} {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			return "", err
		}
	}
	return launch, nil
}

// report prints what was found beside the truth: thrust over the curve's, the impulse of the whole burn, that measured without the model in view, and
// how often the measured thrust's intervals hold the true thrust.
func report(seed uint64, s *desk.ExplainSheet, f *flight.Flight) {
	impulse := func(until float64) float64 {
		sum := 0.0
		const step = 1e-4
		for at := step / 2; at < until; at += step {
			sum += f.Thrust(at) * step
		}
		return sum
	}
	end := f.EndOfThrust
	if n := len(s.Measured); n > 0 {
		end = min(end, s.Measured[n-1].T+f.FirstMotion)
	}
	truth := map[string]float64{"thrust_scale": 1 / tooWeak, "total_impulse": impulse(f.EndOfThrust), "measured_impulse": impulse(end) - impulse(f.FirstMotion)}
	fmt.Printf("seed %d, fits: %v, noise %.3g mm, slow %.3g mm\n", seed, s.Test.Fits, 1e3*s.Test.Noise, 1e3*s.Test.Smooth)
	for _, a := range s.Answers {
		want, ok := truth[a.ID]
		if !ok || a.Value == nil {
			continue
		}
		said := ""
		if want < a.Interval[0] || want > a.Interval[1] {
			said = ": outside"
		}
		fmt.Printf("  %-18s %.5g (%.5g to %.5g), truth %.5g%s\n", a.ID, *a.Value, a.Interval[0], a.Interval[1], want, said)
	}
	held, all := 0, 0
	for _, q := range s.Measured {
		if q.T < 0 || q.T > end-f.FirstMotion {
			continue
		}
		all++
		if d := q.Thrust - f.Thrust(q.T+f.FirstMotion); d < 1.96*q.UThrust && d > -1.96*q.UThrust {
			held++
		}
	}
	fmt.Printf("  thrust measured without the model: interval holds the truth in %d of %d frames\n", held, all)
}
