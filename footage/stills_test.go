package footage

import (
	"context"
	"encoding/json"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"golang.org/x/image/tiff"
)

// saved writes a picture in the format of the name's ending.
func saved(t *testing.T, path string, m image.Image) {
	t.Helper()
	w, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	switch filepath.Ext(path) {
	case ".png":
		err = png.Encode(w, m)
	case ".tif":
		err = tiff.Encode(w, m, nil)
	default:
		err = jpeg.Encode(w, m, &jpeg.Options{Quality: 100})
	}
	if err != nil {
		t.Fatal(err)
	}
}

func ramp16(first int) *image.Gray16 {
	m := image.NewGray16(image.Rect(0, 0, 5, 3))
	for i := range 15 {
		m.SetGray16(i%5, i/5, color.Gray16{Y: uint16(first + 4001*i)})
	}
	return m
}

func TestStillsKeepDepthAndOrder(t *testing.T) {
	t.Parallel()
	for _, ending := range []string{".png", ".tif"} {
		dir := t.TempDir()
		for _, n := range []string{"b10", "b9", "b100"} {
			saved(t, filepath.Join(dir, n+ending), ramp16(len(n)))
		}
		f := opened(t, dir, Options{})
		if want := []string{"b9" + ending, "b10" + ending, "b100" + ending}; !slices.Equal(f.Info().Names, want) {
			t.Errorf("Names = %v, want %v", f.Info().Names, want)
		}
		err := f.Read(context.Background(), 0, 0, func(fr Frame) error {
			for i, v := range fr.Luma.Pix16 {
				if want := uint16(fr.Index + 2 + 4001*i); v != want {
					t.Errorf("%s frame %d pixel %d = %d, want %d", ending, fr.Index, i, v, want)
				}
			}
			if fr.Luma.Depth != 16 || len(fr.Luma.Pix16) != 15 {
				t.Errorf("Luma = %+v, want 15 pixels of 16 bits", fr.Luma)
			}
			return nil
		})
		if err != nil || f.Info().Stamps != nil {
			t.Errorf("Read = %v, stamps %v, want none", err, f.Info().Stamps)
		}
		turned := opened(t, filepath.Join(dir, "b9"+ending), Options{Rotate: 1})
		err = turned.Read(context.Background(), 0, 0, func(fr Frame) error {
			// Clockwise: the stored bottom left pixel (index 10) comes to the top left.
			if l := fr.Luma; l.Width != 3 || l.Height != 5 || l.Pix16[0] != 2+4001*10 || l.Pix16[2] != 2 {
				t.Errorf("turned = %+v", l)
			}
			return nil
		})
		if err != nil {
			t.Error(err)
		}
	}
}

func TestStillsOfTwoSizesAreRefused(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	saved(t, filepath.Join(dir, "a1.jpg"), image.NewGray(image.Rect(0, 0, 8, 8)))
	saved(t, filepath.Join(dir, "a2.jpg"), image.NewGray(image.Rect(0, 0, 8, 9)))
	if _, err := Open(context.Background(), filepath.Join(dir, "a*.jpg"), Options{}); err == nil {
		t.Error("Open = nil, want a refusal")
	}
	r, err := Inspect(context.Background(), filepath.Join(dir, "a1*"), Options{})
	if err != nil || r.Frames != 1 || len(r.SHA256) != 64 || r.Stamps != nil || len(r.Stills) != 1 {
		t.Errorf("Inspect = %+v, %v", r, err)
	}
	if _, err := json.Marshal(r); err != nil {
		t.Error(err)
	}
}

func TestTimeIsAStringOfDecimals(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		decimals string
		want     *big.Rat
		digits   int
	}{{"05", big.NewRat(5, 100), 2}, {"5", big.NewRat(5, 10), 1}, {"", new(big.Rat), 0}, {"-5", new(big.Rat), 0}} {
		var x exif
		x.setTime("1970:01:01 00:00:00", c.decimals)
		if x.time.Cmp(c.want) != 0 || x.digits != c.digits {
			t.Errorf("setTime(%q) = %v, %d digits, want %v, %d", c.decimals, x.time, x.digits, c.want, c.digits)
		}
	}
}

// Two photographs of one telephone, 0.534 s apart by their tags.
func TestTimesOfRealStills(t *testing.T) {
	t.Parallel()
	dir := filepath.Join("..", "..", "shared", "data", "exif")
	if _, err := os.Stat(dir); err != nil {
		t.Skip("../shared/data/exif is absent: no real tags tested")
	}
	read := func(n string) exif {
		b, err := os.ReadFile(filepath.Join(dir, n))
		if err != nil {
			t.Fatal(err)
		}
		return readEXIF(b)
	}
	a, b := read("iphone_hdr_NO.jpg"), read("iphone_hdr_YES.jpg")
	if a.time == nil || b.time == nil || a.exposure <= 0 {
		t.Fatalf("tags = %+v, %+v, want times and an exposure", a, b)
	}
	d, _ := new(big.Rat).Sub(b.time, a.time).Float64()
	if math.Abs(math.Abs(d)-0.534) > 1e-9 { // exact decimals; float64 rounding only
		t.Errorf("step = %v s, want 0.534", d)
	}
}

func FuzzReadEXIF(f *testing.F) {
	f.Add([]byte("\xff\xd8\xff\xe1\x00\x10Exif\x00\x00II*\x00\x08\x00\x00\x00"))
	f.Add([]byte("MM\x00*\x00\x00\x00\x08\x00\x01\x87\x69\x00\x04\x00\x00\x00\x01\x00\x00\x00\x08\x00\x00\x00\x00"))
	names, err := filepath.Glob(filepath.Join("..", "..", "shared", "data", "exif", "corrupt", "*"))
	if err != nil {
		f.Fatal(err)
	}
	for _, n := range names {
		if b, err := os.ReadFile(n); err == nil {
			f.Add(b)
		}
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		x := readEXIF(b)
		if x.exposure < 0 || math.IsNaN(x.exposure) || x.lay.turns > 3 || x.digits > 9 {
			t.Errorf("readEXIF = %+v", x)
		}
	})
}
