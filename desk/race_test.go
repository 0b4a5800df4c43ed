package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"padside/camera"
	"padside/picture"
	"padside/scene"
	"padside/staged"
)

// Each frame of the footage carries its own number, as blocks of light and dark below the flight: what a panel shows can be read back.
const (
	codeBits  = 8
	codeBlock = 24 // px
)

// numbered writes the stills of a take with their numbers on them, and its launch file.
func numbered(t *testing.T, dir string, take *scene.Take, seed uint64) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Join(dir, "stills"), 0o755); err != nil {
		t.Fatal(err)
	}
	for i := range take.Scene.Frames() {
		m := take.Scene.Color(i)
		out := image.NewGray(m.Bounds())
		draw.Draw(out, out.Rect, m, image.Point{}, draw.Src)
		y := out.Rect.Dy() - codeBlock
		for b := range codeBits {
			level := color.Gray{Y: 30 + 190*uint8(i>>b&1)}
			at := image.Rect(b*codeBlock, y, (b+1)*codeBlock, out.Rect.Dy())
			draw.Draw(out, at.Add(image.Pt(out.Rect.Dx()/2-codeBits*codeBlock/2, 0)), image.NewUniform(level), image.Point{}, draw.Src)
		}
		var b bytes.Buffer
		if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, out); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, "stills", fmt.Sprintf("f%04d.png", i)), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(dir, "launch.toml")
	if err := os.WriteFile(path, staged.LaunchText(take, "stills", seed), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// decodeGray decodes a clip to grey frames.
func decodeGray(t *testing.T, path string, w, h int) [][]byte {
	t.Helper()
	raw, err := exec.Command("ffmpeg", "-v", "error", "-i", path, "-vf", "scale=out_range=pc,format=gray", "-fps_mode", "passthrough", "-f", "rawvideo", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	var out [][]byte
	for len(raw) >= w*h {
		out, raw = append(out, raw[:w*h]), raw[w*h:]
	}
	return out
}

// TestRaceShowsEachLaunchAtTheInstant races two drawn launches filmed at different rates and reads back from the written clip which frame of
// the footage each panel shows: at instant t after the true first motion it must be one taken within a frame interval before t, as
// rates differ. The vehicle's tip must then stand as high as the truth has it.
func TestRaceShowsEachLaunchAtTheInstant(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws and measures two launches")
	}
	for _, program := range []string{"ffmpeg", "ffprobe"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Skip(program + " is not installed")
		}
	}
	dir := t.TempDir()
	rates := []float64{1000, 500}
	var takes []*scene.Take
	var paths []string
	for i, hz := range rates {
		take := scene.BottleRocket(uint64(61+i), scene.BottleOptions{Rate: hz, Width: 320, Height: 800})
		takes = append(takes, take)
		paths = append(paths, numbered(t, filepath.Join(dir, fmt.Sprint(i)), take, uint64(i+1)))
	}
	const slow, finish = 20.0, 1.0
	clip, still := filepath.Join(dir, "out", "race.mp4"), filepath.Join(dir, "out", "photo.png")
	r, err := prepareRace(context.Background(), paths, RaceOptions{Clip: clip, Still: still, Finish: "1 m", Slow: slow})
	if err != nil {
		t.Fatal(err)
	}
	s, err := r.run(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	paper, err := picture.NewRace(r.spec())
	if err != nil {
		t.Fatal(err)
	}
	checkPlayable(t, clip, s.Clip)
	checkStill(t, still)
	frames := decodeGray(t, clip, s.Clip.Width, s.Clip.Height)
	if len(frames) != s.Clip.Frames {
		t.Fatalf("the clip decodes to %d frames, the sheet says %d", len(frames), s.Clip.Frames)
	}
	for i, take := range takes {
		start := take.Scene.Vehicles[0].Start + take.Flights[0].FirstMotion
		crossing, ok := take.Flights[0].HeightReached(finish)
		if !ok {
			t.Fatalf("launch %d does not reach the finish", i+1)
		}
		want := crossing - take.Flights[0].FirstMotion
		if a := s.Times[i]; a.Value == nil || math.Abs(*a.Value-want) > 0.02*want {
			t.Errorf("launch %d: time to the finish %v, truth %g", i+1, a.Value, want)
		}
		heights(t, &r.runners[i], take)
		wrong := 0
		for k := range frames {
			at := s.Clip.From + float64(min(k, s.Clip.Frames-46))/(slow*raceRate)
			at = min(at, *s.Times[i].Value)
			n := codeAt(paper, i, take, frames[k], s.Clip.Width)
			shown := take.Scene.Stamps[min(n, take.Scene.Frames()-1)] + take.Scene.Camera.Exposure/2 - start
			// First motion is measured to a fraction of a frame: whether a bottle began with a jolt
			// is worth a third of one. Before the first frame there is none to show.
			const slack = 0.4
			if age := (at - shown) * rates[i]; n > 0 && (age < -slack || age > 1+slack) {
				wrong++
				if wrong < 4 {
					t.Errorf("launch %d, frame %d of the clip (%.4f s): shows frame %d of the footage, %.2f frames old", i+1, k, at, n, age)
				}
			}
		}
		if wrong > 0 {
			t.Errorf("launch %d: %d of %d frames show another instant", i+1, wrong, len(frames))
		}
	}
}

// heights holds what a panel draws against the truth: the pointer's height at an instant, and where the panel has a height.
func heights(t *testing.T, one *runner, take *scene.Take) {
	t.Helper()
	rule := one.rule()
	for _, at := range []float64{0.02, 0.04, 0.06} {
		want := take.Flights[0].At(at + take.Flights[0].FirstMotion).Height
		// The rod's distance and the lean are known to about a percent (LaunchText), first motion to 0.1 ms.
		if got := one.state(at).Height; math.Abs(got-want) > 0.02*want+0.002 {
			t.Errorf("%s: %g s after first motion the pointer stands at %g m, truth %g", one.line.Title, at, got, want)
		}
		p := rule.place(want)
		if got := one.scale.HeightAt(camera.Pixel{X: p.X, Y: p.Y}); math.Abs(got-want) > 1e-4 {
			t.Errorf("%s: %g m is drawn where the scale has %g m", one.line.Title, want, got)
		}
	}
}

// codeAt reads the number that launch i's panel shows in a frame of the clip.
func codeAt(paper *picture.Race, i int, take *scene.Take, frame []byte, w int) int {
	n := 0
	c := take.Scene.Camera
	for b := range codeBits {
		at := paper.Where(i, picture.Spot{X: float64(c.Width)/2 + float64((b-codeBits/2)*codeBlock+codeBlock/2), Y: float64(c.Height - codeBlock/2)})
		if frame[int(math.Round(at.Y))*w+int(math.Round(at.X))] > 125 {
			n |= 1 << b
		}
	}
	return n
}

// checkPlayable holds what a browser needs: H.264, 4:2:0 of 8 bits, even size, the index in front of the data; and that the clip lasts
// as long as it says.
func checkPlayable(t *testing.T, path string, f *RaceFile) {
	t.Helper()
	out, err := exec.Command("ffprobe", "-v", "error", "-show_entries", "stream=codec_name,pix_fmt,width,height,nb_frames,duration,sample_aspect_ratio", "-of", "json", path).Output()
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Streams []struct {
			Codec    string `json:"codec_name"`
			Format   string `json:"pix_fmt"`
			Width    int    `json:"width"`
			Height   int    `json:"height"`
			Frames   string `json:"nb_frames"`
			Duration string `json:"duration"`
		} `json:"streams"`
	}
	if err := json.Unmarshal(out, &got); err != nil || len(got.Streams) != 1 {
		t.Fatalf("ffprobe says %s (%v)", out, err)
	}
	v := got.Streams[0]
	if v.Codec != "h264" || v.Format != "yuv420p" || v.Width != f.Width || v.Height != f.Height || v.Width%2+v.Height%2 != 0 {
		t.Errorf("the clip is %s, %s, %dx%d; want h264, yuv420p, %dx%d and even", v.Codec, v.Format, v.Width, v.Height, f.Width, f.Height)
	}
	duration, _ := strconv.ParseFloat(v.Duration, 64)
	if want := float64(f.Frames) / f.RateHz; v.Frames != fmt.Sprint(f.Frames) || math.Abs(duration-want) > 1e-3 {
		t.Errorf("the clip has %s frames and lasts %g s, want %d and %g", v.Frames, duration, f.Frames, want)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if moov, mdat := bytes.Index(b, []byte("moov")), bytes.Index(b, []byte("mdat")); moov < 0 || moov > mdat {
		t.Errorf("the index stands at byte %d, the data at %d: a browser must load all before it plays", moov, mdat)
	}
	list, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if strings.HasPrefix(e.Name(), ".") {
			t.Errorf("%s is left behind", e.Name())
		}
	}
}

func checkStill(t *testing.T, path string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if m, err := png.Decode(f); err != nil || m.Bounds().Dx() < 1000 {
		t.Errorf("the photo finish is %v (%v)", m.Bounds(), err)
	}
}
