// Package cost measures what work costs: processor time and memory of the benchmarks themselves,
// and the price of encoding the frames of a clip and nothing else.
package cost

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"syscall"
	"time"

	"padside/footage"
)

// Spent is the processor time so far of this program and of the children that have ended, so that a
// busy machine changes little.
func Spent() time.Duration {
	var sum time.Duration
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var u syscall.Rusage
		if syscall.Getrusage(who, &u) == nil {
			sum += time.Duration(u.Utime.Nano() + u.Stime.Nano())
		}
	}
	return sum
}

// Resident is the largest resident set so far of this program, MiB (proc(5), VmHWM).
func Resident() int {
	b, _ := os.ReadFile("/proc/self/status")
	var kib int
	for _, line := range bytes.Split(b, []byte("\n")) {
		if n, _ := fmt.Sscanf(string(line), "VmHWM: %d kB", &kib); n == 1 {
			return kib >> 10
		}
	}
	return 0
}

// Forget sets the largest resident set back to what it is (proc(5), clear_refs). Where that is not
// allowed, Resident is of all so far.
func Forget() { _ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) }

// Encoding is the processor time of encoding the frames of a clip again as e says, and nothing
// else. The frames lie in a file beside the clip meanwhile.
func Encoding(ctx context.Context, clip string, e footage.Encoding) (time.Duration, error) {
	raw := clip + ".raw"
	defer os.Remove(raw)
	if out, err := exec.CommandContext(ctx, "ffmpeg", "-v", "error", "-i", clip, "-pix_fmt", "rgb0", "-f", "rawvideo", raw).CombinedOutput(); err != nil {
		return 0, fmt.Errorf("decode the clip: %w: %s", err, out)
	}
	in, err := os.Open(raw)
	if err != nil {
		return 0, err
	}
	defer in.Close()
	from := Spent()
	err = footage.Encode(ctx, clip, e, func(_ context.Context, put func([]byte) error) error {
		b := make([]byte, 4*e.Width*e.Height)
		for {
			if _, err := io.ReadFull(in, b); errors.Is(err, io.EOF) {
				return nil
			} else if err != nil {
				return err
			}
			if err := put(b); err != nil {
				return err
			}
		}
	})
	return Spent() - from, err
}

// Compared prints what drawing a clip of some frames costs beside encoding them alone.
func Compared(what string, frames int, drawn, alone time.Duration) {
	k := 1000 / float64(frames)
	fmt.Printf("  %-12s %6.2f s of CPU for 1,000 frames\n", what, k*drawn.Seconds())
	fmt.Printf("  encode alone %6.2f s of CPU for 1,000 frames\n", k*alone.Seconds())
	fmt.Printf("  ratio        %6.2f\n", drawn.Seconds()/alone.Seconds())
}
