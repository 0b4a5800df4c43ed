package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"padside/fault"
	"padside/logbook"
	"padside/scene"
	"padside/wording"
)

// markedTake is a launch file of the first plover whose rod is the flight line itself, marked
// without error by the scene's truth about the point that is traced; and gates at heights that this
// point has in whole frames.
type markedTake struct {
	take  *scene.Take
	l     *logbook.Launch
	f     *followed
	m     *Measurement
	gates map[int]float64 // frame of the footage -> m
}

// perfectRod measures the heights of a plover's launch against the truth at some frames.
func perfectRod(t *testing.T) *markedTake {
	t.Helper()
	known := plovers[0].measured(t)
	k := &markedTake{take: plovers[0].take, gates: map[int]float64{}}
	along := k.traced(known.Lanes[0].Path.Line.Rest.Y)
	var marks, gates []string
	last := known.Lanes[0].Path.Points[len(known.Lanes[0].Path.Points)-1].Frame
	for i, part := range []float64{0, 0.35, 0.55, 0.75, 0.9, 0.98} {
		n := int(part * float64(last))
		at := k.take.Scene.Truth(1, n, along)
		marks = append(marks, fmt.Sprintf(`{ at = "%.6f m", x = %.4f, y = %.4f }`, at.Height, at.Steady.X, at.Steady.Y))
		if i > 1 && i < 5 {
			k.gates[n] = at.Height
			gates = append(gates, fmt.Sprintf(`"%.6f m"`, at.Height))
		}
	}
	c := &k.take.Scene.Camera
	text := fmt.Sprintf(`format = 1
title = "Plover, <b>250 mL</b>, שלום 火箭 and a title that goes on far beyond what one line or even two lines of it would hold"
vehicle = "Plover"
[conditions]
water = "250(2) mL"
[footage]
path = %q
[footage.time]
basis = "rate"
rate = "1000 Hz"
shutter = "global"
[scale]
kind = "rod"
on_flight_line = true
lean = "0(0) deg"
mark_uncertainty = "0.05 px"
marks = [ %s ]
[camera]
focal_length = "%.6f(0) mm"
pixel_pitch = "%.6f(0) um"
tilt = "%.6f(0) deg"
[questions]
speeds = ["10 m/s"]
gates = [ %s ]
`, plovers[0].stills(), strings.Join(marks, ", "), 1e3*c.FocalLength, 1e6*c.PixelPitch, c.Tilt*180/math.Pi, strings.Join(gates, ", "))
	path := filepath.Join(t.TempDir(), "launch.toml")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	var err error
	if k.l, err = logbook.ReadLaunch(path); err != nil {
		t.Fatal(err)
	}
	k.f = plovers[0].from // what is followed depends on the rod's direction alone
	if k.m, err = k.f.answer(t.Context(), k.l, Options{}); err != nil {
		t.Fatal(err)
	}
	return k
}

// near is where what is traced is seen, along m from the vehicle's tail: 0.8 of its radius before
// the axis, as package camera takes it and docs/measured.md has it from other takes.
func (k *markedTake) near(frame int, along float64) scene.Truth {
	return k.take.Scene.Before(1, frame, along, 0.8*k.take.Scene.Vehicles[0].RadiusAt(along))
}

// traced is how far up the vehicle the point is that the first frame shows in a row, m from its
// tail.
func (k *markedTake) traced(row float64) float64 {
	lo, hi := 0.0, k.take.Scene.Vehicles[0].Length
	for range 40 {
		if mid := (lo + hi) / 2; k.near(0, mid).Steady.Y > row {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// clip makes the files asked for.
func (k *markedTake) clip(t *testing.T, o ClipOptions) *MarkedClip {
	t.Helper()
	one, made, err := k.make(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	said := slices.ContainsFunc(one.warnings, func(w fault.Warning) bool { return w.Code == "letters-missing" })
	if said == slices.Contains(o.Hide, "all") {
		t.Error("two letters of the title are drawn as boxes where the title is drawn: a warning must say so then and only then")
	}
	return made
}

func (k *markedTake) make(ctx context.Context, o ClipOptions) (*marking, *MarkedClip, error) {
	one, err := newMarking(k.m, k.f, clipEntry{entry: entry{path: k.l.Path}, out: o.Out, overlay: o.Overlay}, o)
	if err != nil {
		return nil, nil, err
	}
	made, err := one.write(ctx)
	return one, made, err
}

// A marked clip is what it says it is: H.264 of so many frames; its overlay alone, laid over the
// same footage by ffmpeg, gives the same pictures; a gate is drawn where the scene's truth has it;
// and the clock shows the frame's own instant.
func TestMarkedClip(t *testing.T) {
	t.Parallel()
	for _, program := range []string{"ffmpeg", "ffprobe"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Skip(program + " is not installed")
		}
	}
	k := perfectRod(t)
	dir := t.TempDir()
	path := func(name string) string { return filepath.Join(dir, name) }
	const slow = 1000.0 / 30 // each frame once
	o := ClipOptions{Out: path("marked.mp4"), Overlay: path("overlay.mov"), Slow: slow, Shape: "as-filmed", Hide: []string{"card"}}
	made := k.clip(t, o)
	checkPlayable(t, path("marked.mp4"), made.Clip)
	o.Out, o.Overlay, o.Hide = path("plain.mp4"), "", []string{"all"}
	plain := k.clip(t, o)
	o.Out, o.Overlay, o.Slow, o.Hide = "", path("pictures"), slow/16, nil
	few := k.clip(t, o)
	if list, err := os.ReadDir(path("pictures")); err != nil || len(list) != few.Overlay.Frames || few.Card != len(list)-int(cardLasts*raceRate) {
		t.Errorf("%d pictures for %d frames, the card from %d on (%v)", len(list), few.Overlay.Frames, few.Card, err)
	}
	k.checkGates(t, made, path("overlay.mov"))
	k.checkOverlay(t, dir, plain.Clip)
	k.checkClock(t, made)
	t.Run("leaves nothing", k.checkLeavesNothing)
}

// checkOverlay lays the overlay over the plain clip by ffmpeg, in every tenth frame. H.264 at this
// quality and colour at half the size change single pixels, at the edges of letters most.
func (k *markedTake) checkOverlay(t *testing.T, dir string, plain *RaceFile) {
	t.Helper()
	gray := func(graph string, names ...string) []byte {
		args := []string{"-v", "error"}
		for _, n := range names {
			args = append(args, "-i", filepath.Join(dir, n))
		}
		const tenth = `,select=not(mod(n\,10)),scale=out_range=pc,format=gray`
		out, err := exec.Command("ffmpeg", append(args, "-filter_complex", graph+tenth, "-fps_mode", "passthrough", "-f", "rawvideo", "-")...).Output()
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	const mean, far, few = 1.5, 40, 0.002 // levels of brightness, of 255; share of pixels
	a, b := gray("[0]setsar=1", "marked.mp4"), gray("[0][1]overlay=format=gbrp", "plain.mp4", "overlay.mov")
	n := plain.Width * plain.Height
	if len(a) != len(b) || len(b) != (plain.Frames+9)/10*n {
		t.Fatalf("%d and %d bytes, want a tenth of %d frames", len(a), len(b), plain.Frames)
	}
	for i := 0; i < len(b); i += n {
		var sum, off float64
		for j := i; j < i+n; j++ {
			d := math.Abs(float64(a[j]) - float64(b[j]))
			sum += d
			if d > far {
				off++
			}
		}
		if sum/float64(n) > mean || off/float64(n) > few {
			t.Fatalf("frame %d: marked and laid differ by %.2f levels in the mean, and %.4f of the pixels by more than %d", i/n*10, sum/float64(n), off/float64(n), far)
		}
	}
}

// checkGates reads gates' rows back from the overlay: beside the flight, on the side without a
// label, in the frame in which the traced point passes each.
func (k *markedTake) checkGates(t *testing.T, made *MarkedClip, overlay string) {
	t.Helper()
	const near = 1.0 // px
	w, h := made.Overlay.Width, made.Overlay.Height
	for n, height := range k.gates {
		at := k.near(n, k.traced(k.f.seen.Paths[0].Line.Rest.Y)).Pixel
		for _, s := range made.Shown {
			if s.Footage != n {
				continue
			}
			frame, err := exec.Command("ffmpeg", "-v", "error", "-i", overlay, "-vf", fmt.Sprintf("select=eq(n\\,%d)", s.Frame), "-frames:v", "1", "-pix_fmt", "rgba", "-f", "rawvideo", "-").Output()
			if err != nil || len(frame) != 4*w*h {
				t.Fatalf("frame %d of the overlay decodes to %d bytes (%v)", s.Frame, len(frame), err)
			}
			// The light edges on either side of the line are alike: the middle of all that is drawn
			// there is the line's.
			for _, aside := range []int{-24, 24} { // beyond the ring, within the line
				x := int(math.Round(at.X)) + aside
				var sum, mass float64
				for y := int(at.Y) - 8; y <= int(at.Y)+8; y++ {
					alpha := float64(frame[4*(y*w+x)+3])
					sum, mass = sum+alpha*float64(y), mass+alpha
				}
				if row := sum / mass; !(math.Abs(row-at.Y) < near) {
					t.Errorf("the gate at %.3f m is drawn in row %.2f, %d px beside the flight, truth %.2f", height, row, aside, at.Y)
				}
			}
		}
	}
}

// checkClock compares frames' instants with the scene's: the same frame of the footage, counted
// from the true first motion.
func (k *markedTake) checkClock(t *testing.T, made *MarkedClip) {
	t.Helper()
	const near = 0.4e-3 // s, of first motion at 1,000 frames a second: see TestRaceShowsEachLaunchAtTheInstant
	start := k.take.Scene.Vehicles[0].Start + k.take.Flights[0].FirstMotion
	before, frozen := false, 0.0
	for i, s := range made.Shown {
		if want := k.take.Scene.Truth(1, s.Footage, 0).T - start; math.Abs(s.T-want) > near {
			t.Fatalf("frame %d of the footage is shown at %.2f ms, truth %.2f", s.Footage, 1e3*s.T, 1e3*want)
		}
		before = before || s.T < 0
		if i > 0 && s.Frame-made.Shown[i-1].Frame >= int(freezeLast*raceRate) {
			frozen = made.Shown[i-1].T
		}
	}
	if !before {
		t.Error("no frame before first motion is shown")
	}
	reached, _ := k.take.Flights[0].SpeedReached(10)
	if want := reached - k.take.Flights[0].FirstMotion; math.Abs(frozen-want) > 2e-3 {
		t.Errorf("the clip stands still at %.1f ms, want at 10 m/s, %.1f", 1e3*frozen, 1e3*want)
	}
}

// What is said of a frame is what the state estimate has there, with its interval, and nothing
// before it is known or after.
func TestMarkedClipReadings(t *testing.T) {
	t.Parallel()
	m := plovers[0].measured(t)
	l := *m.Launch
	k := &marking{o: ClipOptions{}, m: m, lane: &m.Lanes[0], frozen: map[int]bool{}}
	k.one = runner{launch: &l, path: &m.Lanes[0].Path, scale: m.Lanes[0].Scale, motion: m.Lanes[0].Motion.History}
	k.answer(0)
	k.one.clock(m)
	k.usualStates()
	var err error
	if k.read, err = wording.New(logbook.Questions{}, wording.Units{}); err != nil {
		t.Fatal(err)
	}
	for i, s := range k.one.motion {
		frame := m.Lanes[0].told.Observations[i].Frame - k.one.first
		got := k.readingsAt(frame)
		if k.one.times[frame] <= 0 {
			if got[0] != "at rest" {
				t.Fatalf("frame %d, before first motion: %q", frame, got)
			}
			continue
		}
		var v, half float64
		if _, err := fmt.Sscanf(got[0], "%g ± %g m/s", &v, &half); err != nil {
			t.Fatalf("frame %d: %q", frame, got)
		}
		if math.Abs(v-s.Speed) > half/2 || half < 1.9*s.USpeed {
			t.Fatalf("frame %d: %q, estimated %g with standard uncertainty %g m/s", frame, got[0], s.Speed, s.USpeed)
		}
	}
	last := len(k.one.times) - 1
	if got := k.readingsAt(last); k.one.path.LeftView && got[0] != "out of view" {
		t.Errorf("after the vehicle left the view: %q", got)
	}
}

// checkLeavesNothing: whoever cancels, or whose encoder or disk fails, is left with what there was.
func (k *markedTake) checkLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	full := filepath.Join(dir, "full") // reads a little, writes a little, and finds no room
	if err := os.WriteFile(full, []byte("#!/bin/sh\nfor last; do :; done\n[ \"$1\" = -version ] && exit 0\nhead -c 100000 >\"${last#file:}\"\necho 'No space left on device' >&2\nexit 1\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		ffmpeg string
		stop   int // at this frame; 0: never
		out    string
	}{"cancelled": {"", 40, "clip.mp4"}, "no room": {full, 0, "clip.webm"}} {
		t.Run(name, func(t *testing.T) {
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			out := t.TempDir()
			old := filepath.Join(out, c.out)
			if err := os.WriteFile(old, []byte("there before"), 0o644); err != nil {
				t.Fatal(err)
			}
			o := ClipOptions{Out: old, Overlay: filepath.Join(out, "pictures"), FFmpeg: c.ffmpeg, Options: Options{Progress: func(stage string, done, _ int) {
				if stage == "draw" && done >= c.stop && c.stop > 0 {
					cancel()
				}
			}}}
			_, _, err := k.make(ctx, o)
			if err == nil || c.stop > 0 && !errors.Is(err, context.Canceled) {
				t.Errorf("the clip ended with %v", err)
			}
			var said *fault.Error
			if c.stop == 0 && (!errors.As(err, &said) || !strings.Contains(said.Message, "No space left") || !strings.Contains(said.Hint, "make room")) {
				t.Errorf("the reason is not said: %v", err)
			}
			list, _ := os.ReadDir(out)
			if b, _ := os.ReadFile(old); string(b) != "there before" || len(list) != 1 {
				t.Errorf("left behind: %v", list)
			}
		})
	}
}

// How slow a clip is chosen: all frames as often as each other, in some seconds; never faster than
// life.
func TestChosenSlow(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		frames int
		rate   float64
		want   float64
	}{
		{110, 1000, 1000.0 * 2 / 30}, // twice each: 7.3 s
		{180, 1600, 1600.0 / 30},     // once
		{3000, 1600, 1600.0 / 30 / 7},
		{12, 20, 20.0 * 15 / 30}, // a burst: half a second each
		{300, 30, 1},             // a phone in real time
		{2000, 30, 1},            // not faster than life
		{100, 24, 24.0 * 2 / 30}, // slower than life, evenly
	} {
		if got := chosenSlow(c.frames, 1/c.rate); math.Abs(got/c.want-1) > 1e-9 {
			t.Errorf("%d frames at %g Hz are slowed %g times, want %g", c.frames, c.rate, got, c.want)
		}
	}
}
