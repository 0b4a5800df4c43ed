package scene

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"image"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"sync"
	"testing"

	"padside/footage"
)

// small is a quick scene: a bottle rocket on few pixels.
func small(seed uint64) *Take {
	return BottleRocket(seed, BottleOptions{Width: 96, Height: 240, Frames: 60, Rate: 1000})
}

func TestFrameDeterministic(t *testing.T) {
	t.Parallel()
	want := small(5).Scene.Frame(40)
	s := small(5).Scene
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			s.Frame(i * 7)
			if got := s.Frame(40); !bytes.Equal(got.Pix8, want.Pix8) {
				t.Error("Frame(40) differs when others draw at the same time")
			}
		})
	}
	wg.Wait()
	if got := small(6).Scene.Frame(40); bytes.Equal(got.Pix8, want.Pix8) {
		t.Error("another seed draws the same frame")
	}
	if other := s.Frame(41); bytes.Equal(other.Pix8, want.Pix8) {
		t.Error("two frames have the same noise")
	}
}

// The variance of noise is signal/full well + (read noise/full well)^2, in units of white.
func TestSensorNoise(t *testing.T) {
	t.Parallel()
	s := newSensor(Sensor{Depth: 12, FullWell: 8000, ReadNoise: 12})
	light := make([]float32, 200000)
	numbers := make([]uint16, len(light))
	for _, level := range []float32{0.1, 0.4, 0.8} {
		for i := range light {
			light[i] = level
		}
		expose(s, light, 3, 9, numbers)
		var sum, sum2 float64
		for _, v := range numbers {
			sum += float64(v) / 4095
			sum2 += float64(v) / 4095 * float64(v) / 4095
		}
		n := float64(len(numbers))
		mean := sum / n
		sd := math.Sqrt(sum2/n - mean*mean)
		want := math.Sqrt(float64(level)/8000 + 12./8000*12/8000)
		const tolSpread = 0.01 // of 2e5 draws: six standard deviations
		if math.Abs(sd-want) > tolSpread*want || math.Abs(mean-float64(level)) > 6*want/math.Sqrt(n) {
			t.Errorf("noise at %g = %g around %g, want %g", level, sd, mean, want)
		}
	}
}

func TestSensorTone(t *testing.T) {
	t.Parallel()
	linear, bent := newSensor(Sensor{}), newSensor(Sensor{Depth: 16, Gamma: 2.2})
	for i := range 256 {
		if got := linear.number(float32(i) / 255); got != uint32(i) {
			t.Errorf("number(%d/255) = %d", i, got)
		}
	}
	if got, want := float64(bent.number(0.5)), 65535*math.Pow(0.5, 1/2.2); math.Abs(got-want) > 1 {
		t.Errorf("number(0.5) = %g, want %g", got, want)
	}
	if linear.number(-1) != 0 || linear.number(7) != 255 {
		t.Error("light outside 0 to 1 is not clipped")
	}
}

// Shake moves the whole picture: what is drawn moves by what Truth says.
func TestShake(t *testing.T) {
	t.Parallel()
	cam := Camera{Shake: 1.5}
	var ss float64
	const n = 4000
	last := [2]float64{}
	for i := range n {
		dx, dy := cam.shakeAt(float64(i)/50, 11)
		ss += dx*dx + dy*dy
		if i > 0 && math.Hypot(dx-last[0], dy-last[1]) > 1.5 {
			t.Fatalf("shake jumps by %g px in 20 ms", math.Hypot(dx-last[0], dy-last[1]))
		}
		last = [2]float64{dx, dy}
	}
	if rms := math.Sqrt(ss / n); math.Abs(rms-1.5) > 0.15 {
		t.Errorf("rms shake = %g px, want 1.5", rms)
	}
	// The backdrop moves with it: a soft blob of tiles, seen by a shifted grid of pixels.
	b := &backdrop{canvas: newCanvas(80, 80, 1), margin: 4, tiles: 2}
	for i := range b.canvas.planes[0] {
		x, y := float64(i%80)-41, float64(i/80)-38
		b.canvas.planes[0][i] = float32(math.Exp(-(x*x + y*y) / (2 * 4 * 4)))
	}
	b.gather(1)
	c := newCanvas(32, 32, 1)
	b.view(c, 0, 0)
	sum0, x0, y0, _ := moments(c)
	for _, d := range [][2]float64{{0.3, -0.7}, {1.25, 0.1}, {-2.01, 2.49}} {
		b.view(c, d[0], d[1])
		sum, x, y, _ := moments(c)
		const tolTiles = 1e-3 // px: the blob's tails
		if math.Abs(sum/sum0-1) > tolTiles || math.Abs(x-x0-d[0]) > tolTiles || math.Abs(y-y0-d[1]) > tolTiles {
			t.Errorf("moved by %.4f, %.4f, want %v", x-x0, y-y0, d)
		}
	}
}

func TestPresets(t *testing.T) {
	t.Parallel()
	for name, make := range map[string]func(uint64) *Take{
		"bottle": func(seed uint64) *Take { return BottleRocket(seed, BottleOptions{}) },
		"lanes":  func(seed uint64) *Take { return BottleRocket(seed, BottleOptions{Lanes: 2}) },
		"motor":  MotorRocket, "phone": PhoneClip30, "burst": StillsBurst, "drop": BallDrop,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for seed := range uint64(25) {
				take := make(seed)
				s := take.Scene
				if n := len(s.Marks()); n < 5 {
					t.Errorf("seed %d: %d marks in view, want 5 or more", seed, n)
				}
				seen := map[string]bool{}
				for _, k := range take.Known() {
					seen[k.ID] = true
					if math.IsNaN(k.Value) || k.Value < 0 {
						t.Errorf("seed %d: %v", seed, k)
					}
				}
				for _, id := range []string{"first_motion", "peak_speed", "gate_crossing", "time_to_speed", "view_time"} {
					if !seen[id] {
						t.Errorf("seed %d: no %s", seed, id)
					}
				}
				for lane := range s.Vehicles {
					v := &s.Vehicles[lane]
					for _, along := range []float64{0, v.Length} {
						if !s.Truth(lane+1, 0, along).InView {
							t.Errorf("seed %d: lane %d is not wholly in view at rest", seed, lane+1)
						}
					}
					if first := v.Start + take.Flights[lane].FirstMotion; first <= s.Stamps[2] {
						t.Errorf("seed %d: first motion at %g s is not preceded by rest", seed, first)
					}
				}
			}
		})
	}
}

// SameSetup holds what a setup holds: camera, rod and place.
func TestSameSetup(t *testing.T) {
	t.Parallel()
	a := BottleRocket(1, BottleOptions{SameSetup: true, SetupSeed: 9}).Scene
	b := BottleRocket(2, BottleOptions{SameSetup: true, SetupSeed: 9}).Scene
	if a.Camera != b.Camera || *a.Rod != *b.Rod || a.Backdrop != b.Backdrop || a.Light != b.Light {
		t.Error("two launches of one setup differ in camera, rod or light")
	}
	if a.Vehicles[0].Length == b.Vehicles[0].Length {
		t.Error("two launches of one setup have the same vehicle")
	}
}

func TestWriteStills(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		format Format
		depth  int
	}{{"png8", PNG8, 8}, {"png16", PNG16, 12}, {"jpeg", JPEG, 8}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := small(3).Scene
			s.Sensor.Depth, s.Stamps = c.depth, []float64{0, 0.534, 1.05}
			dir := t.TempDir()
			names, err := WriteStills(context.Background(), s, dir, StillsOptions{Format: c.format})
			if err != nil || len(names) != 3 {
				t.Fatalf("WriteStills = %v, %v", names, err)
			}
			data, err := os.ReadFile(filepath.Join(dir, names[1]))
			if err != nil {
				t.Fatal(err)
			}
			m, _, err := image.Decode(bytes.NewReader(data))
			if err != nil {
				t.Fatal(err)
			}
			want := s.Frame(1)
			for _, at := range []int{0, 1000, 9000} {
				got, _, _, _ := m.At(at%96, at/96).RGBA()
				switch c.format {
				case PNG8:
					if got>>8 != uint32(want.Pix8[at]) {
						t.Errorf("pixel %d = %d, want %d", at, got>>8, want.Pix8[at])
					}
				case PNG16:
					if got>>4 != uint32(want.Pix16[at]) {
						t.Errorf("pixel %d = %d, want %d", at, got>>4, want.Pix16[at])
					}
				case JPEG:
					if math.Abs(float64(got>>8)-float64(want.Pix8[at])) > 12 { // of the compression
						t.Errorf("pixel %d = %d, want %d", at, got>>8, want.Pix8[at])
					}
				}
			}
			if c.format == JPEG {
				if got := exifOf(t, data); got[0x9003] != "2026:05:16 10:30:00" || got[0x9291] != "534" || got[0x9011] != "+00:00" {
					t.Errorf("EXIF = %v", got)
				}
			}
		})
	}
}

// exifOf reads the texts of a JPEG's Exif directory.
func exifOf(t *testing.T, data []byte) map[uint16]string {
	t.Helper()
	if !bytes.Equal(data[:4], []byte{0xff, 0xd8, 0xff, 0xe1}) || string(data[6:12]) != "Exif\x00\x00" {
		t.Fatal("no APP1 segment after the start of image")
	}
	b, le := data[12:], binary.LittleEndian
	texts := map[uint16]string{}
	var walk func(at uint32)
	walk = func(at uint32) {
		for i := range uint32(le.Uint16(b[at:])) {
			e := b[at+2+12*i:]
			tag, kind, n := le.Uint16(e), le.Uint16(e[2:]), le.Uint32(e[4:])
			switch {
			case tag == 0x8769:
				walk(le.Uint32(e[8:]))
			case kind == exifASCII && n <= 4:
				texts[tag] = string(e[8 : 8+n-1])
			case kind == exifASCII:
				from := le.Uint32(e[8:])
				texts[tag] = string(b[from : from+n-1])
			}
		}
	}
	walk(le.Uint32(b[4:]))
	return texts
}

func ffmpeg(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("ffmpeg is not installed")
	}
	return path
}

// A lossless clip decodes to the frames that were drawn.
func TestWriteClip(t *testing.T) {
	t.Parallel()
	program := ffmpeg(t)
	for _, mono := range []bool{true, false} {
		s := small(4).Scene
		s.Sensor.Mono = mono
		s.Stamps = Rate(12, 1000)
		path := filepath.Join(t.TempDir(), "clip.mp4")
		if err := WriteClip(context.Background(), s, path, ClipOptions{FFmpeg: program, CRF: -1, BFrames: 0, Playback: 30}); err != nil {
			t.Fatal(err)
		}
		raw, err := exec.Command(program, "-v", "error", "-i", path, "-vf", "extractplanes=y", "-f", "rawvideo", "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		size := 96 * 240
		if len(raw) != 12*size {
			t.Fatalf("mono %v: the clip decodes to %d bytes, want %d", mono, len(raw), 12*size)
		}
		for i := range 12 {
			if !bytes.Equal(raw[i*size:(i+1)*size], s.Frame(i).Pix8) {
				t.Errorf("mono %v: frame %d decodes to other numbers than were drawn", mono, i)
			}
		}
	}
}

// stampsOf reads the stamps (s) of a clip's frames, as another program finds them.
func stampsOf(t *testing.T, path string) []float64 {
	t.Helper()
	probe, err := exec.LookPath("ffprobe")
	if err != nil {
		t.Skip("ffprobe is not installed")
	}
	out, err := exec.Command(probe, "-v", "error", "-select_streams", "v", "-show_entries", "frame=pts_time", "-of", "json", path).Output()
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Frames []struct {
			Time string `json:"pts_time"`
		}
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	var stamps []float64
	for _, f := range got.Frames {
		v, err := strconv.ParseFloat(f.Time, 64)
		if err != nil {
			t.Fatal(err)
		}
		stamps = append(stamps, v)
	}
	return stamps
}

// Uneven stamps survive, with B-frames.
func TestWriteClipStamps(t *testing.T) {
	t.Parallel()
	program := ffmpeg(t)
	s := small(4).Scene
	s.Stamps = []float64{0, 0.0333, 0.0675, 0.0997, 0.1402, 0.1666, 0.2}
	path := filepath.Join(t.TempDir(), "clip.mp4")
	if err := WriteClip(context.Background(), s, path, ClipOptions{FFmpeg: program, BFrames: 2}); err != nil {
		t.Fatal(err)
	}
	got := stampsOf(t, path)
	if len(got) != len(s.Stamps) {
		t.Fatalf("%d frames, want %d", len(got), len(s.Stamps))
	}
	for i, v := range got {
		if math.Abs(v-s.Stamps[i]) > 1./footage.StampClock {
			t.Errorf("stamp %d = %g, want %g", i, v, s.Stamps[i])
		}
	}
}

func TestWriteClipRefuses(t *testing.T) {
	t.Parallel()
	s := small(4).Scene
	s.Camera.Width = 95
	if err := WriteClip(context.Background(), s, "x.mp4", ClipOptions{}); err == nil {
		t.Error("an odd width is written, want a refusal")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := WriteStills(ctx, small(4).Scene, t.TempDir(), StillsOptions{}); err == nil {
		t.Error("WriteStills after cancelling = nil, want an error")
	}
}

// Launches of a club's bottles share one backdrop, and each draws the frames it would draw alone.
func TestClubSharesItsPlace(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws two backdrops")
	}
	club := ClubDay()
	s := club.Rivals[1].Take.Scene
	got := s.Frame(60)
	if s.back != club.Fills[0].Take.Scene.back {
		t.Error("two launches of one place each draw its backdrop")
	}
	alone := ClubDay().Rivals[1].Take.Scene
	alone.like = nil
	if want := alone.Frame(60); !bytes.Equal(got.Pix8, want.Pix8) {
		t.Error("a launch that shares its backdrop draws another frame than alone")
	}
}
