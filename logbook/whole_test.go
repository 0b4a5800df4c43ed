package logbook

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// wholeResult is a result of several files, of a run; its last holds their digests.
func wholeResult(run int) Whole {
	files := map[string][]byte{}
	for _, name := range []string{"answers.json", "streak.png", "trace.csv"} {
		files[name] = fmt.Appendf(nil, "%s of run %d", name, run)
	}
	return Whole{Files: files, Last: "recorder.json", Seal: func(digests map[string]string) ([]byte, error) { return json.Marshal(digests) }}
}

// resultIn says of which run the result in a folder is; 0: there is none. A mixture is an error.
func resultIn(t *testing.T, dir string) (run int) {
	t.Helper()
	last, err := os.ReadFile(filepath.Join(dir, "recorder.json"))
	if err != nil {
		return 0
	}
	var digests map[string]string
	if err := json.Unmarshal(last, &digests); err != nil || len(digests) != 3 {
		t.Fatalf("the last is %q, %v", last, err)
	}
	for name, sum := range digests {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil || digest(text) != sum {
			t.Errorf("%s is %q, %v: not of the result", name, text, err)
		}
		fmt.Sscanf(string(text), name+" of run %d", &run)
	}
	return run
}

// TestWholeKilled kills a process at each step of writing a result over another, and at random moments: what is read is one of the two, or none.
func TestWholeKilled(t *testing.T) {
	if dir := os.Getenv("PADSIDE_WHOLE"); dir != "" {
		var at int
		fmt.Sscan(os.Getenv("PADSIDE_WHOLE_STEP"), &at)
		for run := 2; ; run++ {
			w, step := wholeResult(run), 0
			w.between = func() {
				if step++; step == at {
					os.Exit(9) // as a kill: nothing is tidied up
				}
			}
			if err := w.Write(dir); err != nil {
				fmt.Println(err)
				os.Exit(1)
			}
			fmt.Println("written")
			if at > 0 {
				os.Exit(0)
			}
		}
	}
	t.Parallel()
	write := func(at int) (dir string, child *exec.Cmd) {
		dir = filepath.Join(t.TempDir(), "result")
		if err := wholeResult(1).Write(dir); err != nil || resultIn(t, dir) != 1 {
			t.Fatalf("the first result: %v", err)
		}
		child = exec.Command(os.Args[0], "-test.run=^TestWholeKilled$")
		child.Env = append(os.Environ(), "PADSIDE_WHOLE="+dir, fmt.Sprint("PADSIDE_WHOLE_STEP=", at))
		return dir, child
	}
	for at, want := range []int{1: 1, 2: 0, 3: 0, 4: 0, 5: 0, 6: 2, 7: 2} {
		if at == 0 {
			continue
		}
		dir, child := write(at)
		child.Run() // its status says how far it came
		if code := child.ProcessState.ExitCode(); (code == 9) != (at < 7) {
			t.Fatalf("step %d: the child ended with %d", at, code)
		}
		if got := resultIn(t, dir); got != want {
			t.Errorf("killed at step %d the result is of run %d, want %d", at, got, want)
		}
		if err := wholeResult(7).Write(dir); err != nil || resultIn(t, dir) != 7 {
			t.Errorf("after step %d the next result: %v", at, err)
		}
	}
	r := rand.New(rand.NewPCG(7, 1))
	for range 20 {
		dir, child := write(0)
		out, err := child.StdoutPipe()
		if err == nil {
			err = child.Start()
		}
		if err != nil {
			t.Fatal(err)
		}
		some := make([]byte, len("written\n")*(1+r.IntN(4))+r.IntN(2)) // by what was written, not by the clock
		for n := 0; n < len(some); {
			k, err := out.Read(some[n:])
			if n += k; err != nil {
				t.Fatalf("the child said %q, %v", some[:n], err)
			}
		}
		child.Process.Kill()
		child.Wait()
		resultIn(t, dir)
	}
}
