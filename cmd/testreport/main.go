// Command testreport reads what `go test -json` writes and prints what `go test` would: a line for
// each package and all that failed tests said. At the end it lists the tests that took longest and
// those that were skipped, each with its reason. With -need TEXT it ends with status 1 if the reason of one holds TEXT.
//
//	go test -json ./... | go run ./cmd/testreport -need ../shared
package main

import (
	"bufio"
	"cmp"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
)

func main() {
	need := flag.String("need", "", "fail if a test was skipped whose reason holds this text")
	flag.Parse()
	r := newReport(os.Stdout)
	if err := r.read(os.Stdin); err != nil {
		fmt.Fprintln(os.Stderr, "testreport:", err)
		os.Exit(1)
	}
	r.end()
	if lacks := r.lacking(*need); len(lacks) > 0 {
		fmt.Printf("\n%d tests were skipped for lack of %s: put it there, or run without CI set\n", len(lacks), *need)
		os.Exit(1)
	}
	if r.failed {
		os.Exit(1)
	}
}

// event is one line of `go test -json` (go doc test2json); build-output carries ImportPath instead
// of Package.
type event struct {
	Action, Package, Test, Output string
	Elapsed                       float64 // s, from the start of a test to its end
}

// timed is how long a test took, with what it waited for while others ran.
type timed struct {
	name    string
	seconds float64
}

// listed is how many of the longest tests are printed.
const listed = 12

// skip is a test that was skipped, and why.
type skip struct {
	pkg, test, reason string
}

// report prints events as they come and keeps what is said at the end.
type report struct {
	out    io.Writer
	said   map[string][]string // output of what has not ended, by package and test
	skips  []skip
	times  []timed
	failed bool
}

func newReport(out io.Writer) *report {
	return &report{out: out, said: map[string][]string{}}
}

// read takes all lines. One that is no event is printed as it is.
func (r *report) read(in io.Reader) error {
	lines := bufio.NewReader(in)
	for {
		line, err := lines.ReadBytes('\n')
		if len(line) > 0 {
			var e event
			if json.Unmarshal(line, &e) != nil || e.Action == "" {
				r.out.Write(line)
			} else {
				r.take(e)
			}
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// take adds one event.
func (r *report) take(e event) {
	key := e.Package + " " + e.Test
	if e.Elapsed > 0 && e.Test != "" && !strings.Contains(e.Test, "/") {
		r.times = append(r.times, timed{key, e.Elapsed})
	}
	switch e.Action {
	case "output":
		r.said[key] = append(r.said[key], e.Output)
		return
	case "build-output":
		io.WriteString(r.out, e.Output)
	case "skip":
		if e.Test != "" {
			r.skips = append(r.skips, skip{e.Package, e.Test, reason(r.said[key])})
			break
		}
		r.lines(key, false) // no test files
	case "fail":
		r.failed = true
		r.lines(key, true)
	case "pass":
		if e.Test == "" {
			r.lines(key, false)
		}
	default:
		return
	}
	delete(r.said, key)
}

// summary is a line of go test about a whole package.
var summary = regexp.MustCompile(`^(ok  |FAIL|\?   |---|panic)`)

// lines prints what was said under a key: all, or of a package that passed only its summary.
func (r *report) lines(key string, all bool) {
	for _, l := range r.said[key] {
		if all && !strings.HasPrefix(l, "=== ") || summary.MatchString(l) {
			io.WriteString(r.out, l)
		}
	}
}

// end prints what was said by tests that never ended, as after a panic or a timeout, which tests
// took longest, and which were skipped.
func (r *report) end() {
	for key := range r.said {
		if r.failed {
			r.lines(key, true)
		}
	}
	r.longest()
	if len(r.skips) == 0 {
		fmt.Fprintln(r.out, "\nno test was skipped")
		return
	}
	slices.SortFunc(r.skips, func(a, b skip) int { return cmp.Or(cmp.Compare(a.pkg, b.pkg), cmp.Compare(a.test, b.test)) })
	fmt.Fprintf(r.out, "\n%d tests were skipped:\n", len(r.skips))
	for _, s := range r.skips {
		fmt.Fprintf(r.out, "  %s %s: %s\n", s.pkg, s.test, s.reason)
	}
}

// longest prints the tests that took longest: where to look when the whole takes too long.
func (r *report) longest() {
	slices.SortFunc(r.times, func(a, b timed) int {
		return cmp.Or(cmp.Compare(b.seconds, a.seconds), cmp.Compare(a.name, b.name))
	})
	if len(r.times) > 0 {
		fmt.Fprintln(r.out, "\nlongest, waiting included:")
	}
	for _, t := range r.times[:min(listed, len(r.times))] {
		fmt.Fprintf(r.out, "  %6.1f s  %s\n", t.seconds, t.name)
	}
}

// lacking returns the tests that were skipped with a reason that holds the text.
func (r *report) lacking(text string) (out []skip) {
	for _, s := range r.skips {
		if text != "" && strings.Contains(s.reason, text) {
			out = append(out, s)
		}
	}
	return out
}

// place is how package testing begins what a test says: the file and the line.
var place = regexp.MustCompile(`^\s+\S+\.go:\d+: (.*)`)

// reason is the last thing that a skipped test said.
func reason(said []string) string {
	why := "no reason given"
	for _, l := range said {
		if m := place.FindStringSubmatch(strings.TrimRight(l, "\r\n")); m != nil {
			why = m[1]
		}
	}
	return why
}
