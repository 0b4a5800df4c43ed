package footage

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"padside/fault"
)

// Colours handed over as RGBA come back as they were, to what 4:2:0 and a lossy codec change on even ground; and they are written in
// the range and matrix that players take for granted.
func TestEncodeKeepsColours(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg is not installed")
	}
	const w, h, n = 64, 48, 5
	colours := [][3]uint8{{251, 248, 241}, {31, 41, 51}, {217, 72, 15}, {11, 106, 168}, {0, 255, 0}}
	path := filepath.Join(t.TempDir(), "c.mp4")
	err := Encode(context.Background(), path, Encoding{Width: w, Height: h, Format: RGBA, Rate: 30, CRF: 12, Streamable: true}, func(_ context.Context, put func([]byte) error) error {
		b := make([]byte, 4*w*h)
		for _, c := range colours {
			for i := 0; i < len(b); i += 4 {
				b[i], b[i+1], b[i+2] = c[0], c[1], c[2]
			}
			if err := put(b); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	f, err := Open(context.Background(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if f.Len() != n {
		t.Fatalf("the clip has %d frames, want %d", f.Len(), n)
	}
	const off = 5 // levels: rounding of both conversions and the codec
	for i, c := range colours {
		m, err := f.Picture(context.Background(), i)
		if err != nil {
			t.Fatal(err)
		}
		r, g, b, _ := m.At(w/2, h/2).RGBA()
		for k, v := range []uint32{r, g, b} {
			if d := int(v>>8) - int(c[k]); d > off || d < -off {
				t.Errorf("colour %v comes back as %d %d %d", c, r>>8, g>>8, b>>8)
				break
			}
		}
	}
}

// What fails leaves no file, and the reason is the one that matters.
func TestEncodeLeavesNothing(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg is not installed")
	}
	mine := errors.New("the drawer gave up")
	frames := func(n int, then error) func(context.Context, func([]byte) error) error {
		return func(_ context.Context, put func([]byte) error) error {
			for range n {
				if err := put(make([]byte, 64*48*3/2)); err != nil {
					return err
				}
			}
			return then
		}
	}
	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	for _, c := range []struct {
		name string
		ctx  context.Context
		e    Encoding
		n    int
		fail error
		want func(error) bool
	}{
		{"the drawer fails", context.Background(), Encoding{Width: 64, Height: 48, Rate: 30}, 3, mine, func(err error) bool { return errors.Is(err, mine) }},
		{"no such encoder", context.Background(), Encoding{Width: 64, Height: 48, Rate: 30, Codec: "no-such-codec"}, 500, nil, kind(fault.Failed)},
		{"cancelled", cancelled, Encoding{Width: 64, Height: 48, Rate: 30}, 500, nil, func(err error) bool { return err != nil }},
		{"an odd size", context.Background(), Encoding{Width: 63, Height: 48, Rate: 30}, 1, nil, kind(fault.Request)},
		{"no program", context.Background(), Encoding{FFmpeg: "no-such-program", Width: 64, Height: 48, Rate: 30}, 1, nil, kind(fault.Request)},
		{"a frame of another size", context.Background(), Encoding{Width: 64, Height: 50, Rate: 30}, 1, nil, func(err error) bool { return err != nil }},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "c.mp4")
			if err := Encode(c.ctx, path, c.e, frames(c.n, c.fail)); !c.want(err) {
				t.Errorf("Encode = %v", err)
			}
			if _, err := os.Stat(path); err == nil {
				t.Error("a file is left behind")
			}
		})
	}
}

func kind(k fault.Kind) func(error) bool {
	return func(err error) bool {
		var f *fault.Error
		return errors.As(err, &f) && f.Kind == k
	}
}
