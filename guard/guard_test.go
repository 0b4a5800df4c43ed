package guard

import (
	"bytes"
	"context"
	"errors"
	"log"
	"strings"
	"sync/atomic"
	"testing"

	"padside/fault"
)

// broken panics as a program does that was written wrongly.
func broken() error {
	var list []int
	_ = list[len(list)+2]
	return nil
}

// wantPanic wants an error of one line that names what was raised and this file.
func wantPanic(t *testing.T, err error) {
	t.Helper()
	var f *fault.Error
	if Met(err) == nil || !errors.As(err, &f) || f.Kind != fault.Failed {
		t.Fatalf("%v, want a panic as a fault of kind Failed", err)
	}
	for _, want := range []string{"fault of the program", "index out of range [2] with length 0", "guard_test.go:"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
	if strings.Contains(err.Error(), "\n") {
		t.Errorf("%q has more than one line", err)
	}
}

func TestPanicBecomesAnError(t *testing.T) {
	t.Parallel()
	wantPanic(t, Do(broken))
	ended := Go(broken)
	wantPanic(t, <-ended)
	if err := <-ended; err != nil {
		t.Errorf("waited for again: %v", err)
	}
	g, ctx := WithContext(context.Background())
	g.Go(broken)
	<-ctx.Done() // the others of the group are told
	wantPanic(t, g.Wait())
	plain := errors.New("as it was")
	if err := Do(func() error { return plain }); err != plain || Met(err) != nil {
		t.Errorf("an error became %v", err)
	}
}

// What goroutines raised is raised again where they are waited for, and still tells where it was first.
func TestPanicReachesWhoWaits(t *testing.T) {
	t.Parallel()
	var done atomic.Int64
	wantPanic(t, Do(func() error {
		Workers(4, func() {
			if done.Add(1) == 2 {
				_ = broken()
			}
		})
		t.Error("who waited goes on")
		return nil
	}))
	if done.Load() != 4 {
		t.Errorf("%d of 4 workers were called", done.Load())
	}
}

// The log gets one line, of a panic alone.
func TestLog(t *testing.T) {
	var out bytes.Buffer
	was := log.Writer()
	log.SetOutput(&out)
	defer log.SetOutput(was)
	Log("launch a", errors.New("nothing of note"))
	if out.Len() > 0 {
		t.Errorf("an error was logged: %s", out.String())
	}
	Log("launch heron\nof today", Do(broken))
	if got := out.String(); strings.Count(got, "\n") != 1 || !strings.Contains(got, "launch heron of today: runtime error: index out of range") {
		t.Errorf("the log reads %q", got)
	}
}
