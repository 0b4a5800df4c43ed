package web_test

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// rig is what the tests of this package share: the program users run, and one browser.
type rig struct {
	once    sync.Once
	program string
	browser context.Context
	missing string // why there is no browser
	err     error
	ends    []func()
}

var shared rig

func TestMain(m *testing.M) {
	code := m.Run()
	removeDrawn()
	for i := len(shared.ends) - 1; i >= 0; i-- {
		shared.ends[i]()
	}
	os.Exit(code)
}

func (r *rig) build() {
	dir, err := os.MkdirTemp("", "padside-web")
	if err != nil {
		r.err = err
		return
	}
	r.ends = append(r.ends, func() { os.RemoveAll(dir) })
	r.program = filepath.Join(dir, "padside")
	if runtime.GOOS == "windows" {
		r.program += ".exe"
	}
	if out, err := exec.Command("go", "build", "-o", r.program, "padside/cmd/padside").CombinedOutput(); err != nil {
		r.err = fmt.Errorf("build padside: %w: %s", err, out)
		return
	}
	var path string
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if path, err = exec.LookPath(name); err == nil {
			break
		}
	}
	if err != nil {
		r.missing = "no chromium is installed (Debian: apt-get install chromium)"
		return
	}
	// No sandbox: tests run as root in containers, and the only pages opened are padside's own.
	// No lists under an address bar that nobody sees either: a program of its own draws them, which costs more than the pages do.
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.Flag("disable-features", "Translate,BlinkGenPropertyTrees,WebUIOmniboxPopup,WebUIOmniboxAimPopup,WebUIOmniboxFullPopup"))
	allocator, stop := chromedp.NewExecAllocator(context.Background(), options...)
	browser, end := chromedp.NewContext(allocator)
	r.ends = append(r.ends, stop, end)
	r.err = chromedp.Do(browser, chromedp.Navigate("about:blank"))
	r.browser = browser
}

// program is padside, built from this tree.
func program(t *testing.T) string {
	t.Helper()
	shared.once.Do(shared.build)
	if shared.err != nil {
		t.Fatal(shared.err)
	}
	return shared.program
}

// served is a padside that serves a logbook.
type served struct {
	base  string // "http://127.0.0.1:PORT"
	enter string // the address with the token
	cmd   *exec.Cmd
}

// serve starts padside on a logbook and ends it with the test, as Ctrl-C does.
func serve(t *testing.T, dir string) *served {
	t.Helper()
	return serveAs(t, exec.Command(program(t), "serve", dir, "--no-browser"))
}

// serveAs starts padside by a command.
func serveAs(t *testing.T, cmd *exec.Cmd) *served {
	t.Helper()
	cmd.Stderr = t.Output()
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	s := &served{cmd: cmd}
	t.Cleanup(func() { s.end(t) })
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if line := strings.TrimSpace(lines.Text()); strings.HasPrefix(line, "http://") {
			s.enter = line
			s.base, _, _ = strings.Cut(line, "/enter")
			return s
		}
	}
	t.Fatalf("padside serve printed no address: %v", lines.Err())
	return nil
}

// endWait is how long padside may take to end: requests under way get 3 s.
const endWait = 15 * time.Second

// end stops padside as Ctrl-C does, and wants it to end in peace.
func (s *served) end(t *testing.T) {
	if s.cmd.ProcessState != nil {
		return
	}
	s.cmd.Process.Signal(syscall.SIGINT)
	late := time.AfterFunc(endWait, func() { s.cmd.Process.Kill() })
	defer late.Stop()
	if err := s.cmd.Wait(); err != nil {
		t.Errorf("padside serve ended with %v after an interrupt, want status 0", err)
	}
}
