// Command finder draws launches whose truth is known, lets trace find and follow the vehicle by itself, and prints
// how the points compare with the truth: error, error over stated uncertainty (pull), frames lost, and false points.
//
//	go run ./bench/finder -seeds 12
//
// The scene draws by integrating the vehicle's outline over the exposure (package scene), trace measures by matching
// a reference: neither knows of the other's method.
package main

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"time"

	"padside/bench/takes"
	"padside/footage"
	"padside/scene"
	"padside/trace"
)

func main() {
	seeds := flag.Int("seeds", 12, "takes per class")
	first := flag.Uint64("first", 700, "first seed")
	only := flag.String("only", "", "only classes whose name holds this")
	coded := flag.Bool("coded", false, "through the files a camera would write (H.264, JPEG)")
	keep := flag.String("keep", "", "with -coded: keep the files in this folder, and take those that are there already")
	verbose := flag.Bool("v", false, "print every take")
	points := flag.String("points", "", "write every point and its error as CSV into this folder")
	sheets := flag.String("sheets", "", "write strips of frames with the truth and the trace drawn on into this folder")
	flag.Parse()
	fmt.Println("| footage | takes | not found | points | lost | false | rms px | pull | pull per take, least to most |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|")
	for _, c := range takes.Only(*only) {
		var t tally
		for i := range *seeds {
			v, err := run(context.Background(), c, *first+uint64(i), *coded, *keep, *sheets, *points)
			if *verbose {
				fmt.Fprintf(os.Stderr, "%s %d: %s\n", c.Key, *first+uint64(i), describe(v, err))
			}
			t.add(v, err)
		}
		t.print(c.Key)
		if t.told > 0 {
			fmt.Fprintf(os.Stderr, "%s: rms of what frames near rest err by together %.4f px, of the amplitudes between pixels %.4f px, %d takes\n", c.Key,
				math.Sqrt(t.rests/float64(t.told)), math.Sqrt(t.amplitudes/float64(2*t.told)), t.told)
		}
	}
}

// describe is one take's line.
func describe(v verdict, err error) string {
	if err != nil {
		return err.Error()
	}
	return fmt.Sprintf("%d points, %d lost, %d false (worst %.1f px), rms %.4f px, pull %.2f, %s, %.1f s",
		v.n, v.lost, v.wrong, v.worst, v.rms(), v.pull(), v.note, v.took.Seconds())
}

// run draws a take, follows it, and judges the path.
func run(ctx context.Context, c takes.Class, seed uint64, coded bool, dir, sheets, points string) (verdict, error) {
	take := c.Draw(seed)
	var src trace.Source
	if coded {
		if dir == "" {
			temporary, err := os.MkdirTemp("", "padside-finder-")
			if err != nil {
				return verdict{}, err
			}
			defer os.RemoveAll(temporary)
			dir = temporary
		}
		f, err := film(ctx, take, c, c.Folder(dir, seed))
		if err != nil {
			return verdict{}, err
		}
		defer f.Close()
		src = f
	} else {
		src = takes.Draw(take.Scene)
	}
	begin := time.Now()
	res, err := trace.Follow(ctx, src, trace.Options{
		FrameTime: func(i int) float64 { return take.Scene.Stamps[i] }, Exposure: take.Scene.Camera.Exposure, ExposureGiven: true,
		ExpectDown: take.Scene.Vehicles[0].Falls,
	})
	if err != nil {
		return verdict{}, err
	}
	v := judge(take, &res.Paths[0])
	v.took = time.Since(begin)
	if points != "" {
		if err := writePoints(filepath.Join(points, fmt.Sprintf("%s-%d.csv", c.Key, seed)), take, &res.Paths[0]); err != nil {
			return v, err
		}
	}
	if sheets != "" {
		err = drawSheet(ctx, filepath.Join(sheets, fmt.Sprintf("%s-%d.png", c.Key, seed)), take, src, &res.Paths[0])
	}
	return v, err
}

// film writes the take into folder as a camera would, unless it is there, and opens it.
func film(ctx context.Context, t *scene.Take, c takes.Class, folder string) (*footage.Footage, error) {
	if err := c.Film(ctx, t, folder); err != nil {
		return nil, err
	}
	return footage.Open(ctx, filepath.Join(folder, c.Footage()), footage.Options{})
}
