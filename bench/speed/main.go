// Command speed prints how long `padside measure` takes for a high-speed clip, as a ratio to what ffmpeg needs
// to decode the same clip into nothing, in the same run, and how much memory it needs; then the same for a clip in which all is
// motion, and for the first launch in a clip ten times as long. Processor time is printed beside wall time: on a machine with other work it is the steadier of the two.
//
//	go run ./bench/speed -keep /tmp/speed
//
// The clip: H.264, 1920x570, 1884 frames, a drawn bottle rocket filmed by a camera on its side, which leaves the
// pad late, so that measuring cannot stop early; the clip that is all motion is of 600 frames. Drawing them takes
// minutes; -keep keeps them for the next run. Memory is read from /proc and left out where there is none.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// promised figures: wall time against decoding alone, and peak memory.
const (
	promisedRatio  = 1.6
	promisedMemory = 300 // MB
	promisedGrowth = 1.1
)

func main() {
	keep := flag.String("keep", "", "folder that keeps the clips")
	runs := flag.Int("runs", 3, "runs of each; the median counts")
	which := flag.String("clips", "late,moving,long", "clips to measure, in this order; long is made from late")
	flag.Parse()
	if err := run(context.Background(), *keep, *runs, strings.Split(*which, ",")); err != nil {
		fmt.Fprintln(os.Stderr, "speed:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, dir string, runs int, keys []string) error {
	if dir == "" {
		temporary, err := os.MkdirTemp("", "padside-speed-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(temporary)
		dir = temporary
	}
	program := filepath.Join(dir, "padside-under-test")
	if out, err := exec.CommandContext(ctx, "go", "build", "-o", program, "./cmd/padside").CombinedOutput(); err != nil {
		return fmt.Errorf("build padside (run from the project's root): %w\n%s", err, out)
	}
	fmt.Println("| clip | ffmpeg to null (processor) | padside measure (processor) | ratio (processor) | padside's peak memory |")
	fmt.Println("|---|---|---|---|---|")
	of := map[class]figure{}
	for _, key := range keys {
		c, ok := classOf(key)
		if !ok {
			return fmt.Errorf("no clip is called %q", key)
		}
		if err := c.make(ctx, dir); err != nil {
			return err
		}
		f, err := row(ctx, program, dir, c, runs)
		if err != nil {
			return err
		}
		of[c] = f
	}
	fmt.Println()
	if f, ok := of[late]; ok {
		fmt.Printf("%s: ratio %.2f (promised: at most %.1f); memory %.0f MB (at most %d)\n", late.name, f.ratio, promisedRatio, f.memory, promisedMemory)
		if g, ok := of[long]; ok {
			fmt.Printf("%s: memory %.2f times that (promised: at most %.1f)\n", long.name, g.memory/f.memory, promisedGrowth)
		}
	}
	return nil
}

type figure struct{ ratio, memory float64 }

// row runs decoding and measuring in turn and prints their medians.
func row(ctx context.Context, program, dir string, c class, runs int) (figure, error) {
	var bare, whole, bareCPU, wholeCPU, memory []float64
	if c == long {
		runs = 1
	}
	for range runs {
		begin := time.Now()
		decode := exec.CommandContext(ctx, "ffmpeg", "-nostdin", "-loglevel", "error", "-i", filepath.Join(dir, c.clip), "-f", "null", "-")
		if out, err := decode.CombinedOutput(); err != nil {
			return figure{}, fmt.Errorf("decode: %w\n%s", err, out)
		}
		bare, bareCPU = append(bare, time.Since(begin).Seconds()), append(bareCPU, processor(decode))
		begin = time.Now()
		measure := exec.CommandContext(ctx, program, "measure", filepath.Join(dir, c.launch()), "--json")
		peak, err := runWatched(measure)
		if err != nil {
			return figure{}, err
		}
		whole, wholeCPU = append(whole, time.Since(begin).Seconds()), append(wholeCPU, processor(measure))
		memory = append(memory, peak)
	}
	f := figure{median(whole) / median(bare), median(memory)}
	fmt.Printf("| %s | %.2f s (%.2f s) | %.2f s (%.2f s) | %.2f (%.2f) | %.0f MB |\n", c.name,
		median(bare), median(bareCPU), median(whole), median(wholeCPU), f.ratio, median(wholeCPU)/median(bareCPU), f.memory)
	return f, nil
}

// processor is the time, s, that a program and those it waited for spent on processors.
func processor(ended *exec.Cmd) float64 {
	return (ended.ProcessState.UserTime() + ended.ProcessState.SystemTime()).Seconds()
}

func median(x []float64) float64 {
	slices.Sort(x)
	return x[len(x)/2]
}
