package footage

import (
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"padside/fault"
)

// spoilt overwrites part of a file, from and to as shares of its length.
func spoilt(t *testing.T, path string, from, to float64) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(3, 4))
	for i := int(from * float64(len(b))); i < int(to*float64(len(b))); i++ {
		b[i] = byte(r.Uint32())
	}
	out := filepath.Join(t.TempDir(), filepath.Base(path))
	if err := os.WriteFile(out, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return out
}

// TestDamagedInTheMiddle: a container whose index is whole but whose pictures are not. What can be decoded comes with its own
// stamp, and it is said what does not.
func TestDamagedInTheMiddle(t *testing.T) {
	t.Parallel()
	for name, args := range map[string][]string{
		"inter.mp4": {"-c:v", "libx264", "-bf", "2", "-g", "20", "-pix_fmt", "yuv420p"},
		"intra.mp4": {"-c:v", "mjpeg", "-pix_fmt", "yuvj420p"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			good := made(t, name, args...)
			want := sums(t, opened(t, good, Options{}), 0, 0)
			bad := spoilt(t, good, 0.5, 0.6)
			f := opened(t, bad, Options{})
			got := map[int][16]byte{}
			err := f.Read(context.Background(), 0, 0, func(fr Frame) error {
				got[fr.Index] = sum(fr.Luma)
				return nil
			})
			if err != nil {
				t.Fatalf("Read of a damaged clip = %v", err)
			}
			i := f.Info()
			if i.Complete || len(i.Warnings) == 0 || i.Warnings[len(i.Warnings)-1].Code != "incomplete" {
				t.Errorf("Info() after Read = complete %v, %v, want incomplete with a warning", i.Complete, i.Warnings)
			}
			// Before the damage, and after the next frame that stands by itself, all is as it was.
			for _, k := range []int{0, 30, 40, 110, 118} {
				if got[k] != want[k] {
					t.Errorf("frame %d is not what it was before the damage", k)
				}
			}
			r, err := Inspect(context.Background(), bad, Options{})
			if err != nil || r.Complete || !slices.ContainsFunc(r.Warnings, func(w fault.Warning) bool { return w.Code == "incomplete" }) {
				t.Errorf("Inspect = %+v, %v, want incomplete", r, err)
			}
		})
	}
}

// TestDamagedStill: one still of a burst that breaks off.
func TestDamagedStill(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for _, n := range []string{"a1.png", "a2.png", "a3.png"} {
		saved(t, filepath.Join(dir, n), ramp16(5))
	}
	b, err := os.ReadFile(filepath.Join(dir, "a2.png"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "a2.png"), b[:len(b)-25], 0o600); err != nil {
		t.Fatal(err)
	}
	f := opened(t, dir, Options{})
	var seen []int
	err = f.Read(context.Background(), 0, 0, func(fr Frame) error {
		seen = append(seen, fr.Index)
		return nil
	})
	if i := f.Info(); err != nil || !slices.Equal(seen, []int{0, 2}) || i.Complete || !strings.Contains(i.Warnings[0].Message, "2 of 3") {
		t.Errorf("Read = %v, frames %v, %v, want 0 and 2 and a warning", err, seen, i.Warnings)
	}
	if err := f.Read(context.Background(), 1, 2, func(Frame) error { return nil }); err == nil {
		t.Error("Read of the damaged still alone gives no error")
	}
}

// TestHostileFiles are refused with a line that says what they are.
func TestHostileFiles(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	write := func(name, text string) string {
		t.Helper()
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	// A PNG head that announces 60000 x 60000 px: 10.8 GB if believed. Its checksum is right, as CRC-32 of the chunk demands.
	huge := "\x89PNG\r\n\x1a\n" + chunk("IHDR", "\x00\x00\xea\x60\x00\x00\xea\x60\x08\x02\x00\x00\x00") + chunk("IDAT", "") + chunk("IEND", "")
	sound := filepath.Join(dir, "sound.mp4")
	ffmpeg(t, "-f", "lavfi", "-i", "sine=d=0.2", sound)
	whole, err := os.ReadFile(made(t, "whole.mp4", "-c:v", "libx264", "-pix_fmt", "yuv420p"))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ path, says string }{
		{write("cut.mp4", string(whole[:len(whole)/2])), "ends before the index"},
		{write("huge.png", huge), "megapixels"},
		{sound, "only sound"},
		{write("empty.mp4", ""), "is empty"},
		{write("list.mp4", "ffconcat version 1.0\nfile /etc/hostname\n"), "cannot read"},
		{write("list.m3u8", "#EXTM3U\n#EXTINF:1,\nfile:///etc/hostname\n"), "cannot read"},
		{write("raw.dng", "II*\x00"), "not read here"},
		{os.DevNull, "is no file"},
	} {
		_, err := Open(context.Background(), c.path, Options{})
		var e *fault.Error
		if !errors.As(err, &e) || e.Kind != fault.Request || e.Hint == "" || !strings.Contains(e.Message, c.says) || strings.Contains(e.Message, "\n") {
			t.Errorf("Open(%s) = %v, want a request error that says %q", filepath.Base(c.path), err, c.says)
		}
	}
}

// TestTracksRefused by what the container's header says of them.
func TestTracksRefused(t *testing.T) {
	t.Parallel()
	good := track{Codec: "h264", PixFmt: "yuv420p", Width: 1920, Height: 570}
	if err := good.refused("a.mp4"); err != nil {
		t.Errorf("refused = %v, want nil", err)
	}
	for says, change := range map[string]func(*track){
		"megapixels": func(s *track) { s.Width, s.Height = 12000, 9000 },
		"no size":    func(s *track) { s.Width = 0 },
		"encrypted":  func(s *track) { s.CodecTag = "encv" },
		"not know":   func(s *track) { s.Codec = "unknown" },
		"cannot be":  func(s *track) { s.PixFmt = "unknown" },
	} {
		s := good
		change(&s)
		var e *fault.Error
		if err := s.refused("a.mp4"); !errors.As(err, &e) || e.Hint == "" || !strings.Contains(e.Message, says) {
			t.Errorf("refused = %v, want one that says %q", err, says)
		}
	}
}

// TestHangingChildIsEnded: a child that keeps its reader waiting is ended, one that is not waited for is not.
func TestHangingChildIsEnded(t *testing.T) {
	t.Parallel()
	const limit = 20 * time.Millisecond
	w := watch(context.Background(), limit)
	time.Sleep(3 * limit)
	if w.hung() || w.ctx.Err() != nil {
		t.Fatal("ended while nobody waited")
	}
	r, out := io.Pipe()
	context.AfterFunc(w.ctx, func() { out.CloseWithError(w.ctx.Err()) })
	if _, err := w.watched(r).Read(make([]byte, 1)); err == nil || !w.hung() {
		t.Errorf("Read = %v, hung %v, want it ended", err, w.hung())
	}
}

// TestStillNamedLikeAClip is opened as what it is.
func TestStillNamedLikeAClip(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	m := image.NewGray(image.Rect(0, 0, 8, 6))
	m.SetGray(3, 2, color.Gray{Y: 200})
	saved(t, filepath.Join(dir, "a.png"), m)
	if err := os.Rename(filepath.Join(dir, "a.png"), filepath.Join(dir, "a.mp4")); err != nil {
		t.Fatal(err)
	}
	if i := opened(t, filepath.Join(dir, "a.mp4"), Options{}).Info(); i.Kind != Stills || i.Frames != 1 || i.Width != 8 {
		t.Errorf("Info() = %+v, want one still", i)
	}
}

// TestSizeChange: a stream that changes its size is refused there, what comes before is delivered.
func TestSizeChange(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	small, large, both := filepath.Join(dir, "a.h264"), filepath.Join(dir, "b.h264"), filepath.Join(dir, "c.h264")
	for path, size := range map[string]string{small: "64x48", large: "128x96"} {
		ffmpeg(t, "-f", "lavfi", "-i", "testsrc2=r=30:d=0.5:s="+size, "-c:v", "libx264", "-bf", "0", "-pix_fmt", "yuv420p", path)
	}
	w, err := os.Create(both)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	for _, p := range []string{small, large} {
		r, err := os.Open(p)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close()
		if _, err := io.Copy(w, r); err != nil {
			t.Fatal(err)
		}
	}
	f := opened(t, both, Options{})
	n := 0
	err = f.Read(context.Background(), 0, 0, func(Frame) error { n++; return nil })
	if err == nil || !strings.Contains(err.Error(), "changes its size") || n != 15 {
		t.Errorf("Read = %v after %d frames, want a change of size after 15", err, n)
	}
}

// TestOldPrograms checks the options for versions of ffmpeg, whose names have changed.
func TestOldPrograms(t *testing.T) {
	t.Parallel()
	for line, want := range map[string]string{
		"ffmpeg version 4.4.2-0ubuntu0.22.04.1 Copyright": "-vsync",
		"ffmpeg version 5.0.1 Copyright":                  "-vsync",
		"ffmpeg version 5.1.9-0+deb12u1 Copyright":        "-fps_mode",
		"ffmpeg version n7.1 Copyright":                   "-fps_mode",
		"ffmpeg version N-109542-g1bf1adc Copyright":      "-fps_mode",
		"ffmpeg version 2024-01-01-git-abc Copyright":     "-fps_mode",
	} {
		var tl tool
		if tl.learn([]byte(line)); tl.version == "" || tl.passthrough()[0] != want {
			t.Errorf("%q: version %q, %v, want %s", line, tl.version, tl.passthrough(), want)
		}
	}
	var tl tool
	if tl.learn([]byte("built with gcc 12")); tl.version != "" {
		t.Errorf("version = %q from a line without one", tl.version)
	}
}

// chunk makes a chunk of a PNG file (ISO/IEC 15948, 5.3).
func chunk(kind, data string) string {
	body := kind + data
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	return string(binary.BigEndian.AppendUint32(append(b, body...), crc32.ChecksumIEEE([]byte(body))))
}
