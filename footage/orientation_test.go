package footage

import (
	"bytes"
	"context"
	"encoding/binary"
	"image"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// TestOrientationsOfEXIF holds all eight against the words of CIPA DC-008, tag 0x0112: on which side of the upright picture the
// stored 0th row and the stored 0th column lie.
func TestOrientationsOfEXIF(t *testing.T) {
	t.Parallel()
	const w, h = 3, 2
	stored := []int{0, 1, 2, 3, 4, 5}
	for tag, sides := range map[uint32][2]string{
		1: {"top", "left"}, 2: {"top", "right"}, 3: {"bottom", "right"}, 4: {"bottom", "left"},
		5: {"left", "top"}, 6: {"right", "top"}, 7: {"right", "bottom"}, 8: {"left", "bottom"},
	} {
		o := fromEXIF(tag)
		uw, uh := o.size(w, h)
		out := make([]int, w*h)
		lay(o, stored, out, w, h, w)
		side := func(name string) (s []int) {
			for i := range uw * uh {
				x, y := i%uw, i/uw
				if name == "top" && y == 0 || name == "bottom" && y == uh-1 || name == "left" && x == 0 || name == "right" && x == uw-1 {
					s = append(s, out[i])
				}
			}
			slices.Sort(s)
			return s
		}
		if row, column := side(sides[0]), side(sides[1]); !slices.Equal(row, []int{0, 1, 2}) || !slices.Equal(column, []int{0, 3}) {
			t.Errorf("orientation %d: %v has stored row 0 on none but %s: %v; column 0 %s: %v", tag, out, sides[0], row, sides[1], column)
		}
		for i := range out { // the stored row that each upright pixel came from
			if got := o.readout(uw, uh).Row(float64(i%uw), float64(i/uw)); got != float64(out[i]/w) {
				t.Errorf("orientation %d: pixel %d of the upright picture is read with row %g, want %d", tag, i, got, out[i]/w)
			}
		}
		a, b, c, d := o.matrix()
		if got, exact := fromMatrix(65536*a, 65536*b, 65536*c, 65536*d); got != o || !exact {
			t.Errorf("fromMatrix of orientation %d = %v, %v, want %v", tag, got, exact, o)
		}
	}
	for _, turn := range []int{-90, 90, 450} {
		if got, want := fromEXIF(2).turned(turn).degrees(), (turn%360+360)%360; got != want {
			t.Errorf("turned(%d) = %d degrees, want %d", turn, got, want)
		}
	}
	s, c := math.Sincos(40 * math.Pi / 180)
	if o, exact := fromMatrix(c, s, -s, c); exact || o.degrees() != 0 {
		t.Errorf("a turn of 40 degrees = %v, exact %v, want the nearest, not exact", o, exact)
	}
	if _, exact := fromMatrix(math.NaN(), 0, 0, math.Inf(1)); exact {
		t.Error("a matrix that is none counts as exact")
	}
}

// TestMirroredClip writes a mirroring matrix into a clip's track header (ISO/IEC 14496-12, 8.3.2) and reads, looks through and
// looks at it.
func TestMirroredClip(t *testing.T) {
	t.Parallel()
	plain := made(t, "plain.mp4", "-c:v", "libx264", "-pix_fmt", "yuv420p", "-t", "0.2")
	b, err := os.ReadFile(plain)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(b, []byte("tkhd")) + 4 + 40 // version and flags, 36 bytes of a version 0 header
	minus := int32(-65536)
	binary.BigEndian.PutUint32(b[at:], uint32(minus))
	path := filepath.Join(t.TempDir(), "mirrored.mp4")
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	from := opened(t, plain, Options{})
	f := opened(t, path, Options{Rotate: 1})
	if i := f.Info(); !i.Mirrored || i.Rotation != 90 || i.Width != 96 || i.Height != 128 {
		t.Fatalf("Info() = %+v, want mirrored, then turned by 90", i)
	}
	want, err := from.Frame(ctx, 3)
	if err != nil {
		t.Fatal(err)
	}
	got, err := f.Frame(ctx, 3)
	if err != nil {
		t.Fatal(err)
	}
	for y := range want.Height {
		for x := range want.Width {
			// Mirrored: x becomes w-1-x. Clockwise: (x, y) becomes (h-1-y, x).
			if g := got.At(want.Height-1-y, want.Width-1-x); g != want.At(x, y) {
				t.Fatalf("stored pixel (%d, %d) = %g, shown as %g", x, y, want.At(x, y), g)
			}
		}
	}
	const step = 5
	err = f.Glimpse(ctx, 3, 4, step, func(fr Frame) error {
		for y := range fr.Luma.Height {
			for x := range fr.Luma.Width {
				if !middle(got, x, y, step, fr.Luma.At(x, y)) {
					t.Fatalf("glimpse at (%d, %d) is not near the middle of its square", x, y)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

// TestStillsAreLaidUpright: brightness and picture agree, for every orientation and several kinds of picture.
func TestStillsAreLaidUpright(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	const w, h = 16, 8
	base := filepath.Join(dir, "base.jpg")
	m := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	for i := range m.Y {
		m.Y[i] = uint8(i)
	}
	for i := range m.Cb {
		m.Cb[i], m.Cr[i] = 128, 128 // grey: brightness is all there is
	}
	saved(t, base, m)
	plain, err := os.ReadFile(base)
	if err != nil {
		t.Fatal(err)
	}
	for tag := range uint32(9) {
		path := filepath.Join(dir, "turned.jpg")
		if err := os.WriteFile(path, tagged(plain, field{tagOrientation, 3, tag, nil}), 0o600); err != nil {
			t.Fatal(err)
		}
		f := opened(t, path, Options{})
		l, err := f.Frame(context.Background(), 0)
		if err != nil {
			t.Fatal(err)
		}
		p, err := f.Picture(context.Background(), 0)
		if err != nil {
			t.Fatal(err)
		}
		if b := p.Bounds(); b.Dx() != l.Width || b.Dy() != l.Height {
			t.Fatalf("orientation %d: picture %v, brightness %d x %d", tag, b, l.Width, l.Height)
		}
		for y := range l.Height {
			for x := range l.Width {
				if c := color.GrayModel.Convert(p.At(x, y)).(color.Gray).Y; c != l.Pix8[y*l.Width+x] {
					t.Fatalf("orientation %d at (%d, %d): picture %d, brightness %d", tag, x, y, c, l.Pix8[y*l.Width+x])
				}
			}
		}
	}
}

func FuzzParseMatrix(f *testing.F) {
	f.Add("\n00000000:            0       65536           0\n00000001:       -65536           0           0\n00000002:            0           0  1073741824\n")
	f.Add("00000000: 1e308 -1e308 nan")
	f.Fuzz(func(t *testing.T, s string) {
		if o, _ := parseMatrix(s); o.turns < 0 || o.turns > 3 {
			t.Errorf("parseMatrix(%q) = %v", s, o)
		}
	})
}
