// Command pictures takes the pictures of the workbench in docs/pictures, in a real browser, from the demo's own logbook:
//
//	go run ./cmd/padside demo --no-serve --out /tmp/club-day
//	go run ./bench/pictures -logbook /tmp/club-day
//
// Each page is taken at 1280 and 360 px, on light and on dark paper. ffmpeg brings each picture down to 200 colours.
package main

import (
	"bufio"
	"bytes"
	"context"
	"flag"
	"fmt"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// planned is the shoot that the demo leaves.
const planned = "next-club-day"

// shot is one page: where it is, what is there once it is complete, and how tall a picture of it is at both widths.
type shot struct {
	name, path, ready string
	tall, tallNarrow  int64
}

func main() {
	log.SetFlags(0)
	logbook := flag.String("logbook", "padside-demo", "a measured logbook, as the demo leaves it")
	out := flag.String("out", "docs/pictures", "folder for the pictures")
	only := flag.String("only", "", "take this page only")
	flag.Parse()
	if err := run(*logbook, *out, *only); err != nil {
		log.Fatalf("pictures: %v", err)
	}
}

func run(logbook, out, only string) error {
	launches, err := os.ReadDir(filepath.Join(logbook, "launches"))
	if err != nil || len(launches) == 0 {
		return fmt.Errorf("list launches: %v", err)
	}
	one := launches[0].Name()
	shots := []shot{
		{"logbook", "/", `document.querySelectorAll(".entry img").length > 0 && [...document.images].every(i => i.complete && i.naturalWidth > 0)`, 1100, 900},
		{"launch", "/launch/" + one, `document.querySelector(".paper canvas")?.ariaBusy === "false" && [...document.images].every(i => i.complete)`, 1250, 1200},
		{"setup", "/setup/" + one, `document.querySelector(".marks .off .num") && document.querySelector(".stage img").complete`, 1100, 1200},
	}
	if _, err := os.Stat(filepath.Join(logbook, "shoots", planned)); err != nil {
		return fmt.Errorf("find the shoot to picture: %w", err)
	}
	shots = append(shots,
		shot{"shoots", "/shoots", `document.getElementById("shoot-text")?.value`, 1100, 1200},
		shot{"plan", "/shoots/" + planned, `document.querySelector("main button.primary")?.click() || document.querySelectorAll(".side .nose").length > 10`, 1330, 1200})
	if n := len(launches); n > 2 {
		three := fmt.Sprintf("/compare?launch=%s&launch=%s&launch=%s", one, launches[1].Name(), launches[n-1].Name())
		shots = append(shots, shot{"compare", three, `document.querySelector("main canvas") && !document.querySelector("[aria-busy=true]")`, 1250, 1200})
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	ctx, stop := context.WithTimeout(context.Background(), 10*time.Minute)
	defer stop()
	enter, end, err := serve(ctx, logbook)
	if err != nil {
		return err
	}
	defer end()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox)
	allocator, stopBrowser := chromedp.NewExecAllocator(ctx, options...)
	defer stopBrowser()
	tab, closeTab := chromedp.NewContext(allocator)
	defer closeTab()
	if err := chromedp.Do(tab, chromedp.Navigate(enter)); err != nil {
		return err
	}
	base, _, _ := strings.Cut(enter, "/enter")
	for _, s := range shots {
		if only != "" && s.name != only {
			continue
		}
		if err := s.takeAll(tab, base, out); err != nil {
			return fmt.Errorf("take %s: %w", s.name, err)
		}
	}
	return nil
}

// serve starts padside from this tree and returns the address it prints.
func serve(ctx context.Context, logbook string) (enter string, end func(), err error) {
	dir, err := os.MkdirTemp("", "pictures")
	if err != nil {
		return "", nil, err
	}
	program := filepath.Join(dir, "padside")
	if said, err := exec.CommandContext(ctx, "go", "build", "-o", program, "./cmd/padside").CombinedOutput(); err != nil {
		return "", nil, fmt.Errorf("build padside: %w: %s", err, said)
	}
	cmd := exec.CommandContext(ctx, program, "serve", logbook, "--no-browser")
	cmd.Stderr = os.Stderr
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		return "", nil, err
	}
	if err := cmd.Start(); err != nil {
		return "", nil, err
	}
	end = func() {
		cmd.Process.Signal(os.Interrupt)
		cmd.Wait()
		os.RemoveAll(dir)
	}
	lines := bufio.NewScanner(stdout)
	for lines.Scan() {
		if line := strings.TrimSpace(lines.Text()); strings.HasPrefix(line, "http://") {
			return line, end, nil
		}
	}
	end()
	return "", nil, fmt.Errorf("padside printed no address: %v", lines.Err())
}

func (s shot) takeAll(ctx context.Context, base, out string) error {
	for _, paper := range []string{"light", "dark"} {
		media := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
			{Name: "prefers-color-scheme", Value: paper}, {Name: "prefers-reduced-motion", Value: "reduce"}}}
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, media); err != nil {
			return err
		}
		for _, size := range [][2]int64{{1280, s.tall}, {360, s.tallNarrow}} {
			err := chromedp.Do(ctx, chromedp.EmulateViewport(size[0], size[1]), chromedp.Navigate(base+s.path))
			if err != nil {
				return err
			}
			if _, err := chromedp.Run(ctx, chromedp.Poll[bool]("!!("+s.ready+")", chromedp.WithPollingTimeout(2*time.Minute))); err != nil {
				return err
			}
			// What is fetched after the page is complete, as the filmstrip's frames, gets a moment.
			if err := chromedp.Do(ctx, chromedp.Sleep(1500*time.Millisecond)); err != nil {
				return err
			}
			png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
			if err != nil {
				return err
			}
			name := filepath.Join(out, fmt.Sprintf("%s-%d-%s.png", s.name, size[0], paper))
			if err := compress(ctx, png, name); err != nil {
				return err
			}
		}
	}
	return nil
}

// compress writes a picture in 200 colours, undithered, so that type stays sharp.
func compress(ctx context.Context, png []byte, name string) error {
	cmd := exec.CommandContext(ctx, "ffmpeg", "-v", "error", "-y", "-f", "png_pipe", "-i", "-",
		"-vf", "split[a][b];[a]palettegen=max_colors=200[p];[b][p]paletteuse=dither=none", name)
	cmd.Stdin = bytes.NewReader(png)
	if said, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("compress: %w: %s", err, said)
	}
	info, err := os.Stat(name)
	if err != nil {
		return err
	}
	fmt.Printf("%s %d kB\n", name, info.Size()/1000)
	return nil
}
