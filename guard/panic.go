package guard

import (
	"errors"
	"fmt"
	"log"
	"path"
	"runtime"
	"strings"

	"padside/fault"
)

// Panic is a fault of the program itself: what was raised, and where.
type Panic struct {
	Value any
	At    string // the calls of this program that led there, innermost first: "motion/scan.go:41 < desk/measure.go:90"
}

// Error says both in one line.
func (p *Panic) Error() string {
	return strings.Join(strings.Fields(fmt.Sprintf("%v at %s", p.Value, p.At)), " ")
}

// Unwrap returns what was raised where that is an error, else nil.
func (p *Panic) Unwrap() error {
	err, _ := p.Value.(error)
	return err
}

// Do calls f. A panic of f is returned as an error that holds a *Panic.
func Do(f func() error) (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = caught(v)
		}
	}()
	return f()
}

// caught words what was raised. What another goroutine raised and its waiter raised again keeps the place where it was first.
func caught(v any) error {
	if err, ok := v.(error); ok && Met(err) != nil {
		return err
	}
	p := &Panic{Value: v, At: calls()}
	return fault.Failedf(p, "", "a fault of the program itself, please report it: %s", p)
}

// Met returns the panic that an error comes from, nil where it comes from none.
func Met(err error) *Panic {
	var p *Panic
	errors.As(err, &p)
	return p
}

// mostCalls is how many calls of the program are named: who reports the line needs to tell where it was, not how the program began.
const mostCalls = 6

// calls names where the program was when it panicked.
func calls() string {
	var at []string
	pc := make([]uintptr, 64)
	frames := runtime.CallersFrames(pc[:runtime.Callers(1, pc)])
	for more := true; more && len(at) < mostCalls; {
		var f runtime.Frame
		f, more = frames.Next()
		dir, file := path.Split(strings.ReplaceAll(f.File, `\`, "/"))
		place := path.Base(dir) + "/" + file
		ours := strings.HasPrefix(f.Function, "padside/") || strings.HasPrefix(f.Function, "main.")
		if ours && place != "guard/panic.go" && place != "guard/group.go" {
			at = append(at, fmt.Sprintf("%s:%d", place, f.Line))
		}
	}
	if len(at) == 0 {
		return "an unknown place"
	}
	return strings.Join(at, " < ")
}

// Log writes a line where err comes from a panic: what was worked on, what was raised, where. Other errors are not its business.
func Log(what string, err error) {
	if p := Met(err); p != nil {
		log.Printf("%s: %s", strings.Join(strings.Fields(what), " "), p)
	}
}
