package scene

import (
	"context"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"padside/footage"
)

// What a recording stores is written down by hand here, frame by frame.
func TestRecording(t *testing.T) {
	t.Parallel()
	s := &Scene{Stamps: Rate(6, 10)}
	for _, c := range []struct {
		name   string
		do     func(r *Recording)
		frames []int
		stamps []float64
	}{
		{"as filmed", func(*Recording) {}, []int{0, 1, 2, 3, 4, 5}, []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5}},
		{"lost", func(r *Recording) { r.Lose(2) }, []int{0, 1, 3, 4, 5}, []float64{0, 0.1, 0.2, 0.3, 0.4}},
		{"frozen", func(r *Recording) { r.Freeze(2) }, []int{0, 1, 1, 3, 4, 5}, []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5}},
		{"inserted", func(r *Recording) { r.Insert(2) }, []int{0, 1, 1, 2, 3, 4, 5}, []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6}},
		{"lost and inserted", func(r *Recording) { r.Lose(1); r.Insert(3) }, []int{0, 2, 3, 3, 4, 5}, []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5}},
		{"coarse", func(r *Recording) { r.Round(0.25) }, []int{0, 1, 2, 3, 4, 5}, []float64{0, 0, 0.25, 0.25, 0.5, 0.5}},
	} {
		r := Record(s)
		c.do(r)
		near := slices.EqualFunc(r.Stamps, c.stamps, func(a, b float64) bool { return a-b < 1e-12 && b-a < 1e-12 })
		if !slices.Equal(r.Frames, c.frames) || !near {
			t.Errorf("%s: frames %v at %v, want %v at %v", c.name, r.Frames, r.Stamps, c.frames, c.stamps)
		}
	}
	r := Record(s)
	r.Jitter(0.004, 3)
	var sum float64
	for i, v := range r.Stamps {
		sum += (v - s.Stamps[i]) * (v - s.Stamps[i])
	}
	if sum < 6*0.002*0.002 || sum > 6*0.008*0.008 || s.Stamps[3] != Rate(6, 10)[3] { // six draws
		t.Errorf("jitter of 4 ms: squares sum to %g s2; the scene's own stamps %v", sum, s.Stamps)
	}
}

// A file holds the pictures of the recording in its order, with its stamps.
func TestWriteClipRecording(t *testing.T) {
	t.Parallel()
	program := ffmpeg(t)
	s := small(4).Scene
	s.Stamps = Rate(130, 60) // more than one expression of ffmpeg takes in a row
	s.Vehicles[0].Start = 0
	r := Record(s)
	r.Lose(7)
	r.Insert(3)
	r.Jitter(0.002, 9)
	path := filepath.Join(t.TempDir(), "clip.mp4")
	if err := WriteClip(context.Background(), s, path, ClipOptions{FFmpeg: program, CRF: -1, Recording: r}); err != nil {
		t.Fatal(err)
	}
	raw, err := exec.Command(program, "-v", "error", "-i", path, "-fps_mode", "passthrough", "-vf", "extractplanes=y", "-f", "rawvideo", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	const size = 96 * 240
	if len(raw) != len(r.Frames)*size {
		t.Fatalf("the clip decodes to %d frames, want %d", len(raw)/size, len(r.Frames))
	}
	for k, i := range r.Frames {
		if !slices.Equal(raw[k*size:(k+1)*size], s.Frame(i).Pix8) {
			t.Errorf("picture %d is not frame %d", k, i)
		}
	}
	got := stampsOf(t, path)
	for k, want := range r.Stamps {
		if off := got[k] - (want - r.Stamps[0]); off > 1.2e-5 || off < -1.2e-5 { // a tick of 1/90000 s
			t.Errorf("stamp %d = %g, want %g", k, got[k], want-r.Stamps[0])
		}
	}
}

// Of an interlaced clip the even rows are those of one instant and the odd rows those of the next, and the file says so.
func TestWriteClipWoven(t *testing.T) {
	t.Parallel()
	program := ffmpeg(t)
	s := small(4).Scene
	s.Stamps = Rate(12, 50)
	path := filepath.Join(t.TempDir(), "clip.mp4")
	if err := WriteClip(context.Background(), s, path, ClipOptions{FFmpeg: program, CRF: -1, Recording: Weave(s)}); err != nil {
		t.Fatal(err)
	}
	raw, err := exec.Command(program, "-v", "error", "-i", path, "-vf", "extractplanes=y", "-f", "rawvideo", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	const w, h = 96, 240
	if len(raw) != 6*w*h {
		t.Fatalf("%d bytes, want 6 frames", len(raw))
	}
	for k := range 6 {
		for y := range h {
			if !slices.Equal(raw[(k*h+y)*w:][:w], s.Frame(2*k + y%2).Pix8[y*w:][:w]) {
				t.Fatalf("row %d of picture %d is not that of field %d", y, k, 2*k+y%2)
			}
		}
	}
	out, err := exec.Command("ffprobe", "-v", "error", "-show_entries", "stream=field_order", "-of", "csv=p=0", path).Output()
	if err != nil || !strings.HasPrefix(string(out), "tt") && !strings.HasPrefix(string(out), "tb") {
		t.Errorf("field order %q, %v, want the top field first", out, err)
	}
}

// A clip whose pictures are stored lying says so, and opens as it was drawn; its first stored row is what the readout reads first.
func TestWriteClipTurned(t *testing.T) {
	t.Parallel()
	program := ffmpeg(t)
	s := small(4).Scene
	s.Stamps = Rate(3, 50)
	const w, h = 96, 240
	drawn := s.Frame(1).Pix8
	column := func(x int) (out []byte) {
		for y := range h {
			out = append(out, drawn[y*w+x])
		}
		return out
	}
	last := slices.Clone(drawn[(h-1)*w:])
	slices.Reverse(last)
	left := column(0)
	slices.Reverse(left)
	firstRow := map[Readout][]byte{FromTop: drawn[:w], FromRight: column(w - 1), FromBottom: last, FromLeft: left}
	for _, r := range []Readout{FromTop, FromBottom, FromLeft, FromRight} {
		path := filepath.Join(t.TempDir(), "clip.mp4")
		if err := WriteClip(context.Background(), s, path, ClipOptions{FFmpeg: program, CRF: -1, Turned: r.Turned()}); err != nil {
			t.Fatal(err)
		}
		stored, err := exec.Command(program, "-v", "error", "-noautorotate", "-i", path, "-vf", "extractplanes=y", "-f", "rawvideo", "-").Output()
		if err != nil || !slices.Equal(stored[w*h:][:len(firstRow[r])], firstRow[r]) {
			t.Errorf("readout %d: the first stored row is not what is read first, %v", r, err)
		}
		f, err := footage.Open(context.Background(), path, footage.Options{})
		if err != nil {
			t.Fatal(err)
		}
		l, err := f.Frame(context.Background(), 1)
		f.Close()
		if err != nil || l.Width != w || !slices.Equal(l.Pix8, drawn) {
			t.Errorf("readout %d: the clip opens at %d px wide and not as it was drawn, %v", r, l.Width, err)
		}
	}
}
