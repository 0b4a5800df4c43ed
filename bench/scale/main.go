// Command scale marks drawn rods with more scatter than is stated, works the scale out of the marks, and
// prints how often the 95 % intervals of a height hold the truth and how wide they are, as a table in Markdown.
// Only the marks are in doubt: tilt, distances and lean are as stated.
//
//	go run ./bench/scale -setups 4000
package main

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"

	"padside/camera"
	"padside/fault"
	"padside/metrology"
)

const (
	stated = 0.5  // px, standard uncertainty of a mark
	focal  = 1800 // px
	away   = 8.0  // m
	wide   = 1000 // px
	tall   = 4000
	top    = 2.2 // m, height asked for, a tenth beyond the highest mark
	draws  = 300
)

func main() {
	setups := flag.Int("setups", 2000, "drawn setups per cell")
	flag.Parse()
	fmt.Println("| marks | tilt | " + "scatter as stated | twice | three times |\n|---|---|---|---|---|")
	for _, tilt := range []string{"not stated", "6(1) deg", "6(0) deg"} {
		for _, n := range []int{2, 3, 4, 5, 8} {
			if n == 2 && tilt == "not stated" {
				continue // its interval is that of a camera level to 5 degrees
			}
			var cells []string
			for _, factor := range []float64{1, 2, 3} {
				c, err := study(*setups, n, factor, tilt)
				if err != nil {
					fmt.Fprintln(os.Stderr, "scale:", err)
					os.Exit(1)
				}
				cells = append(cells, c)
			}
			fmt.Printf("| %d | %s | %s |\n", n, tilt, strings.Join(cells, " | "))
		}
	}
}

// study returns coverage, median relative half width and the share that is warned of scatter.
func study(setups, n int, factor float64, tilt string) (string, error) {
	var held, warned int
	widths := make([]float64, setups)
	for i := range setups {
		r := rand.New(rand.NewPCG(uint64(i), uint64(n)))
		s, warnings, at, err := setup(r, n, factor, tilt)
		if err != nil {
			return "", err
		}
		for _, w := range warnings {
			if w.Code == "scale-marks-scatter" {
				warned++
			}
		}
		nominal := s.HeightAt(at)
		y := make([]float64, draws)
		for j := range y {
			y[j], _, _ = s.Warp(r, r, "").At(nominal)
		}
		iv, err := metrology.SymmetricInterval(y, 0.95)
		if err != nil {
			return "", err
		}
		if iv.Holds(top) {
			held++
		}
		widths[i] = iv.Width() / 2 / top
	}
	slices.Sort(widths)
	share := func(k int) float64 { return 100 * float64(k) / float64(setups) }
	return fmt.Sprintf("%.1f %%, ±%.2f %%, warned %.0f %%", share(held), 100*widths[setups/2], share(warned)), nil
}

// setup draws a camera tilted by about 6 degrees and a rod with n marks over 2 m.
func setup(r *rand.Rand, n int, factor float64, tilt string) (*camera.Scale, []fault.Warning, camera.Pixel, error) {
	const degree = math.Pi / 180
	truth, given := 6*degree, camera.Measured{}
	switch tilt {
	case "6(1) deg":
		given = camera.Measured{Value: truth + degree*r.NormFloat64(), U: degree, Given: true}
	case "6(0) deg":
		given = camera.Measured{Value: truth, Given: true, Exact: true}
	}
	sin, cos := math.Sincos(truth)
	see := func(h float64) camera.Pixel {
		y, z := (h-1.2)*cos-away*sin, (h-1.2)*sin+away*cos
		return camera.Pixel{X: wide / 2, Y: tall/2 - focal*y/z}
	}
	exact := func(v float64) camera.Measured { return camera.Measured{Value: v, Given: true, Exact: true} }
	spec := camera.Spec{Kind: camera.KindRod, Width: wide, Height: tall, Lean: exact(0), OnLine: true,
		Lens: camera.Lens{FocalLength: exact(focal * 5e-6), PixelPitch: exact(5e-6), Tilt: given}}
	for i := range n {
		h := 2 * float64(i) / float64(n-1)
		p := see(h)
		p.X += factor * stated * r.NormFloat64()
		p.Y += factor * stated * r.NormFloat64()
		spec.Marks = append(spec.Marks, camera.Mark{Height: h, At: p})
	}
	rest, end := see(0), see(top)
	line := camera.FlightLine{Rest: rest, Uy: -1}
	s, w, err := camera.Calibrate(spec, line, rest.Y-end.Y, camera.Growth{})
	return s, w, end, err
}
