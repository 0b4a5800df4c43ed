package camera

import (
	"image"
	_ "image/jpeg"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// boards is real footage of a 9 x 6 chessboard with published intrinsics and poses.
const boards = "../../shared/data/chessboards"

// published reads the poses (rotation vector, translation) of the left camera's pictures.
func published(t *testing.T) [][6]float64 {
	t.Helper()
	text, err := os.ReadFile(filepath.FromSlash(boards + "/left_intrinsics.yml"))
	if err != nil {
		t.Skipf("../shared/data/chessboards is absent: %v", err)
	}
	_, after, _ := strings.Cut(string(text), "extrinsic_parameters")
	_, after, _ = strings.Cut(after, "data:")
	after, _, _ = strings.Cut(after, "]")
	var all []float64
	for _, s := range regexp.MustCompile(`-?\d+\.\d*(e[-+]\d+)?`).FindAllString(after, -1) {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, v)
	}
	var poses [][6]float64
	for i := 0; i+6 <= len(all); i += 6 {
		poses = append(poses, [6]float64(all[i:]))
	}
	return poses
}

// rotate turns (x, y, 0) by a rotation vector (Rodrigues' formula).
func rotate(v [3]float64, x, y float64) [3]float64 {
	angle := math.Sqrt(v[0]*v[0] + v[1]*v[1] + v[2]*v[2])
	k := [3]float64{v[0] / angle, v[1] / angle, v[2] / angle}
	sin, cos := math.Sincos(angle)
	along := (k[0]*x + k[1]*y) * (1 - cos)
	return [3]float64{x*cos - k[2]*y*sin + k[0]*along, y*cos + k[2]*x*sin + k[1]*along, (k[0]*y-k[1]*x)*sin + k[2]*along}
}

// saddle refines a corner of the board: the stationary point of a quadratic fitted to the
// grey levels of the 9 x 9 pixels around it.
func saddle(img image.Image, p Pixel) (Pixel, bool) {
	for range 5 {
		cx, cy := math.Round(p.X), math.Round(p.Y)
		const n = 4
		var sx, sy, sxy, sxx, syy float64
		const m2, m4 = 60.0 / 9, 708.0 / 9 // mean of x^2 and of x^4 over -4..4
		for dy := -n; dy <= n; dy++ {
			for dx := -n; dx <= n; dx++ {
				q := image.Pt(int(cx)+dx, int(cy)+dy)
				if !q.In(img.Bounds()) {
					return p, false
				}
				g, _, _, _ := img.At(q.X, q.Y).RGBA()
				x, y, v := float64(dx), float64(dy), float64(g)/81
				sx, sy, sxy = sx+v*x/m2, sy+v*y/m2, sxy+v*x*y/(m2*m2)
				sxx, syy = sxx+v*(x*x-m2)/(m4-m2*m2), syy+v*(y*y-m2)/(m4-m2*m2)
			}
		}
		det := 4*sxx*syy - sxy*sxy
		if det >= 0 {
			return p, false // no saddle
		}
		p = Pixel{cx + (sxy*sy-2*syy*sx)/det, cy + (sxy*sx-2*sxx*sy)/det}
	}
	return p, true
}

// bend is the sum of squared distances of points from their line, and their count less two.
func bend(pts []Pixel) (sum float64, dof int) {
	if len(pts) < 4 {
		return 0, 0
	}
	var mx, my, xx, xy, yy float64
	n := float64(len(pts))
	for _, p := range pts {
		mx, my = mx+p.X/n, my+p.Y/n
	}
	for _, p := range pts {
		x, y := p.X-mx, p.Y-my
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
	}
	return (xx+yy)/2 - math.Hypot((xx-yy)/2, xy), len(pts) - 2
}

// TestChessboards: the published k1 and k2 straighten the rows of a real board. The fit they
// belong to has further terms, left out here, that count beyond half a focal length from
// the axis; corners farther out are not used.
func TestChessboards(t *testing.T) {
	t.Parallel()
	const (
		squares  = 0.025 // m
		farthest = 0.5   // focal lengths
		// asked is how much straighter rows become at least: what is left is finding the
		// corners (published reprojection error 0.2 to 0.4 px) and the terms left out
		asked = 4.0
	)
	d := Distortion{Centre: Pixel{342.28, 235.57}, Focal: 535.92, K1: -0.2664, K2: -0.0386}
	names := strings.Fields("01 02 03 04 05 06 07 08 09 11 12 13 14")
	var before, after float64
	var dof, corners int
	for i, pose := range published(t) {
		f, err := os.Open(filepath.FromSlash(boards + "/left" + names[i] + ".jpg"))
		if err != nil {
			t.Skipf("../shared/data/chessboards is absent: %v", err)
		}
		img, _, err := image.Decode(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		for row := range 6 {
			var seen, straight []Pixel
			for col := range 9 {
				v := rotate([3]float64(pose[:3]), float64(col)*squares, float64(row)*squares)
				x, y, z := v[0]+pose[3], v[1]+pose[4], v[2]+pose[5]
				if math.Hypot(x/z, y/z) > farthest {
					continue
				}
				guess := d.Apply(Pixel{d.Centre.X + d.Focal*x/z, d.Centre.Y + d.Focal*y/z})
				p, ok := saddle(img, guess)
				if !ok || math.Hypot(p.X-guess.X, p.Y-guess.Y) > 4 {
					continue
				}
				corners++
				seen, straight = append(seen, p), append(straight, d.Undistort(p))
			}
			b, n := bend(seen)
			a, _ := bend(straight)
			before, after, dof = before+b, after+a, dof+n
		}
	}
	if corners < 300 {
		t.Fatalf("found %d corners, want 300 or more of %d", corners, 13*54)
	}
	rms := func(s float64) float64 { return math.Sqrt(s / float64(dof)) }
	t.Logf("%d corners: rows straight to %.2f px rms as filmed, %.2f px undistorted", corners, rms(before), rms(after))
	if rms(before) < asked*rms(after) {
		t.Errorf("rows straight to %.2f px as filmed, %.2f px undistorted: want %g times better", rms(before), rms(after), asked)
	}
}
