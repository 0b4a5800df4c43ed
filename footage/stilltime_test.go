package footage

import (
	"encoding/binary"
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"padside/fault"
)

// field is one entry of a directory of tags: type 2 text, 3 short, 5 rational of value and 1000.
type field struct {
	tag, kind uint16
	value     uint32
	text      []byte
}

// tagged puts tags into a JPEG file as CIPA DC-008 lays them: orientation in the first directory, the rest in the EXIF one.
func tagged(jpeg []byte, fields ...field) []byte {
	order := binary.LittleEndian
	var first, sub []field
	for _, f := range fields {
		if f.tag == tagOrientation {
			first = append(first, f)
		} else {
			sub = append(sub, f)
		}
	}
	tiff := append([]byte("II*\x00"), 8, 0, 0, 0)
	list := func(fields []field, next uint32) {
		heap := uint32(len(tiff)+2+12*len(fields)+4) + next
		var kept []byte
		tiff = order.AppendUint16(tiff, uint16(len(fields)))
		for _, f := range fields {
			tiff = order.AppendUint16(tiff, f.tag)
			tiff = order.AppendUint16(tiff, f.kind)
			switch f.kind {
			case 2:
				text := append(slices.Clone(f.text), 0)
				tiff = order.AppendUint32(tiff, uint32(len(text)))
				if len(text) <= 4 {
					tiff = append(tiff, append(text, 0, 0, 0)[:4]...)
					continue
				}
				tiff = order.AppendUint32(tiff, heap+uint32(len(kept)))
				kept = append(kept, text...)
			case 5:
				tiff = order.AppendUint32(tiff, 1)
				tiff = order.AppendUint32(tiff, heap+uint32(len(kept)))
				kept = order.AppendUint32(order.AppendUint32(kept, f.value), 1000)
			default:
				tiff = order.AppendUint32(tiff, 1)
				tiff = order.AppendUint32(tiff, f.value)
			}
		}
		tiff = append(order.AppendUint32(tiff, 0), kept...)
	}
	first = append(first, field{tagExif, 4, uint32(8 + 2 + 12*(len(first)+1) + 4), nil})
	list(first, 0)
	list(sub, 0)
	body := append([]byte("Exif\x00\x00"), tiff...)
	out := append([]byte("\xff\xd8\xff\xe1"), byte((len(body)+2)>>8), byte(len(body)+2))
	return append(append(out, body...), jpeg[2:]...)
}

// shotAt is the tags of one still; decimals and offset may be empty.
func shotAt(second, decimals, offset string) []field {
	f := []field{{tagExposure, 5, 2, nil}, {tagFNumber, 5, 2800, nil}, {tagISO, 3, 400, nil}, {tagOriginal, 2, 0, []byte("2024:06:01 12:00:" + second)},
		{tagFocal, 5, 26500, nil}, {tagFocal35, 3, 40, nil}}
	if decimals != "" {
		f = append(f, field{tagSubSec, 2, 0, []byte(decimals)})
	}
	if offset != "" {
		f = append(f, field{tagOffset, 2, 0, []byte(offset)})
	}
	return f
}

// TestTimesOfBursts opens runs of stills by their tags: what times they get, how fine, and what is said of them.
func TestTimesOfBursts(t *testing.T) {
	t.Parallel()
	base := filepath.Join(t.TempDir(), "base.jpg")
	saved(t, base, image.NewGray(image.Rect(0, 0, 8, 8)))
	plain, err := os.ReadFile(base)
	if err != nil {
		t.Fatal(err)
	}
	rounding := 1 / math.Sqrt(12) // of one tick: GUM, JCGM 100:2008, 4.3.7
	for name, c := range map[string]struct {
		shots   [][]field
		last    float64 // s, of the last still after the first
		tick    float64 // s; 0: no stamps
		trusted bool
		warns   string // a code, or none
	}{
		"milliseconds":     {[][]field{shotAt("01", "050", ""), shotAt("01", "153", ""), shotAt("01", "257", "")}, 0.207, 1e-3, true, ""},
		"a leading zero":   {[][]field{shotAt("01", "05", ""), shotAt("01", "15", "")}, 0.10, 1e-2, true, ""},
		"tenths as millis": {[][]field{shotAt("01", "100", ""), shotAt("01", "300", ""), shotAt("01", "500", ""), shotAt("01", "800", "")}, 0.7, 0.1, true, ""},
		"whole seconds":    {[][]field{shotAt("01", "", ""), shotAt("02", "", ""), shotAt("03", "", "")}, 2, 1, true, "whole-seconds"},
		"one second":       {[][]field{shotAt("01", "", ""), shotAt("01", "", ""), shotAt("02", "", "")}, 1, 1, false, "times-not-rising"},
		"backwards":        {[][]field{shotAt("02", "10", ""), shotAt("01", "20", "")}, -0.9, 1e-2, false, "times-not-rising"},
		"clock put on":     {[][]field{shotAt("01", "10", "+01:00"), shotAt("01", "20", "+00:59")}, 60.1, 1e-2, true, ""},
		"one without":      {[][]field{shotAt("01", "10", ""), {{tagISO, 3, 100, nil}}}, 0, 0, false, "times-missing"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			for i, f := range c.shots {
				if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("b%d.jpg", i)), tagged(plain, f...), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			i := opened(t, dir, Options{}).Info()
			if i.StampsTrusted != c.trusted || math.Abs(i.StampU-c.tick*rounding) > 1e-12 { // float64 rounding
				t.Errorf("trusted %v, StampU %g, want %v, %g", i.StampsTrusted, i.StampU, c.trusted, c.tick*rounding)
			}
			var codes []string
			for _, w := range i.Warnings {
				codes = append(codes, w.Code)
			}
			if c.warns == "" && len(codes) > 0 || c.warns != "" && !slices.Contains(codes, c.warns) {
				t.Errorf("warnings %v, want %q", i.Warnings, c.warns)
			}
			if c.tick == 0 {
				if i.Stamps != nil {
					t.Errorf("Stamps = %v, want none", i.Stamps)
				}
				return
			}
			first, _ := i.Stamps[0].Float64()
			last, _ := i.Stamps[len(i.Stamps)-1].Float64()
			const double = 1e-6 // s: seconds since 1970 as float64
			if math.Abs(last-first-c.last) > double {
				t.Errorf("the last still is %g s after the first, want %g", last-first, c.last)
			}
			if i.Exposure != 0.002 || i.FNumber != 2.8 || i.ISO != 400 || math.Abs(i.FocalLength-0.0265) > 1e-12 || i.FocalLength35 != 0.040 {
				t.Errorf("exposure %g, f/%g, ISO %d, %g m, %g m: want 0.002, 2.8, 400, 0.0265, 0.04", i.Exposure, i.FNumber, i.ISO, i.FocalLength, i.FocalLength35)
			}
		})
	}
}

// TestSpacingTellsWhatIsMissing: regular stamps, dropped frames, the rounding of Matroska, and a rate that varies.
func TestSpacingTellsWhatIsMissing(t *testing.T) {
	t.Parallel()
	stamps := func(steps ...int64) []int64 {
		pts := []int64{100}
		for range 12 {
			for _, s := range steps {
				pts = append(pts, pts[len(pts)-1]+s)
			}
		}
		return pts
	}
	for name, c := range map[string]struct {
		pts          []int64
		gaps, absent int
	}{
		"even":     {stamps(512, 512, 512, 512, 512, 512, 512), 0, 0},
		"rounded":  {stamps(17, 16, 17, 17, 16, 17, 17), 0, 0},
		"dropped":  {stamps(512, 512, 512, 512, 512, 512, 512, 512, 1536, 512, 512, 1024), 24, 36},
		"variable": {stamps(1500, 1700, 3100, 1400, 2200), 0, 0},
		"two":      {[]int64{5, 9}, 0, 0},
		"one":      {[]int64{5}, 0, 0},
	} {
		if s := newSpacing(c.pts); s.gaps != c.gaps || s.absent != c.absent {
			t.Errorf("%s: %+v, want %d gaps, %d frames", name, s, c.gaps, c.absent)
		}
	}
}

// TestInterlacedIsSaid: a clip woven from two instants is warned of.
func TestInterlacedIsSaid(t *testing.T) {
	t.Parallel()
	path := made(t, "woven.mp4", "-vf", "tinterlace=interleave_top", "-c:v", "libx264", "-flags", "+ildct+ilme", "-x264opts", "tff=1", "-pix_fmt", "yuv420p", "-t", "0.5")
	i := opened(t, path, Options{}).Info()
	if !slices.ContainsFunc(i.Warnings, func(w fault.Warning) bool { return w.Code == "interlaced" }) {
		t.Errorf("warnings %v, want interlaced", i.Warnings)
	}
}

// TestClipAppended: a still with a clip appended is read as the still.
func TestClipAppended(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "a.jpg")
	m := image.NewGray(image.Rect(0, 0, 16, 8))
	m.Pix[5] = 77
	saved(t, path, m)
	before := sums(t, opened(t, path, Options{}), 0, 0)
	clip, err := os.ReadFile(made(t, "a.mp4", "-c:v", "libx264", "-pix_fmt", "yuv420p", "-t", "0.1"))
	if err != nil {
		t.Fatal(err)
	}
	w, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	if _, err := w.Write(clip); err != nil {
		t.Fatal(err)
	}
	f := opened(t, path, Options{})
	if got := sums(t, f, 0, 0); f.Info().Kind != Stills || !slices.Equal(got, before) {
		t.Errorf("Info() = %+v, want the still as it was", f.Info())
	}
}

// TestMotionPhotos opens such files of two makers. Their pictures were cut short by whoever published them: only heads can be read.
func TestMotionPhotos(t *testing.T) {
	t.Parallel()
	dir := filepath.Join("..", "..", "shared", "data", "containers")
	names, _ := filepath.Glob(filepath.Join(dir, "*motion-photo*.jpg"))
	if len(names) == 0 {
		t.Skip("../shared/data/containers is absent: no still with a clip appended is tested")
	}
	for _, n := range names {
		f := opened(t, n, Options{})
		i := f.Info()
		err := f.Read(t.Context(), 0, 0, func(fr Frame) error { return nil })
		t.Log(filepath.Base(n), i.Width, i.Height, i.Rotation, i.Stamps, err)
		if i.Kind != Stills || i.Frames != 1 || i.Width == 0 {
			t.Errorf("Info(%s) = %+v, want one still", n, i)
		}
		if err != nil && !strings.Contains(err.Error(), "cannot decode") {
			t.Errorf("Read(%s) = %v", n, err)
		}
	}
}
