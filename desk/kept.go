package desk

import (
	"encoding/json"
	"errors"
	"fmt"

	"padside/fault"
	"padside/metrology"
	"padside/wording"
)

// keptLaunch is what was kept of a launch that was measured. Sheet and record are there together or not at all; damage says why files that are there
// count for nothing.
type keptLaunch struct {
	sheet  *Sheet
	record *Recorder
	damage error
}

// kept reads what was measured of a launch.
func (d *Desk) kept(name string) keptLaunch {
	return readKept(name, d.kin(name), wholeFile)
}

// kin reads files beside a launch file.
func (d *Desk) kin(name string) func(file string) ([]byte, error) {
	return func(file string) ([]byte, error) { return d.book.File(name, file) }
}

func wholeFile(file []byte, to any) error { return json.Unmarshal(file, to) }

// readKept reads both files of a launch, opened by one function and decoded by another, and holds them against what they promise. A file that is
// missing makes a launch that was never measured; one that is not whole, for somebody or something else wrote in it, is said.
func readKept(name string, open func(file string) ([]byte, error), read func(file []byte, to any) error) keptLaunch {
	k := keptLaunch{sheet: &Sheet{}, record: &Recorder{}}
	for _, f := range []struct {
		name string
		to   interface{ check() error }
	}{{answersFile, k.sheet}, {recorderFile, k.record}} {
		b, err := open(f.name)
		if err != nil {
			return keptLaunch{}
		}
		if err = read(b, f.to); err == nil {
			err = f.to.check()
		}
		if err != nil {
			return keptLaunch{damage: fault.Requestf("measure it again", "%s is not measured: what was kept of it in %s is damaged: %v", name, f.name, err)}
		}
	}
	return k
}

// whole says which answer of a list that was read is not, by a check of one.
func whole(list []metrology.Answer, check func(metrology.Answer) error) error {
	for i, a := range list {
		if err := check(a); err != nil {
			return fmt.Errorf("answer %d: %w", i+1, err)
		}
	}
	return nil
}

// check says what a sheet that was read promises and does not hold.
func (s *Sheet) check() error {
	if err := whole(s.Answers, wording.Whole); err != nil {
		return err
	}
	for i, r := range s.Trace {
		if r.Lane < 1 || r.Frame < 0 {
			return fmt.Errorf("point %d of the trace is of lane %d, frame %d", i+1, r.Lane, r.Frame)
		}
	}
	return nil
}

// check says what a recorder that was read promises and does not hold.
func (r *Recorder) check() error {
	if r.Of == "" {
		return errors.New("it does not say which launch file it is of")
	}
	for i, l := range r.Lanes {
		if l.Lane < 1 {
			return fmt.Errorf("lane %d has the number %d", i+1, l.Lane)
		}
		if s := l.Streak; s != nil && len(s.Frames) != len(s.Times) {
			return fmt.Errorf("the streak of lane %d has %d frames and %d times", l.Lane, len(s.Frames), len(s.Times))
		}
	}
	return nil
}

// whole says whether a plan that was read answers so many questions for each of its options. One that does not is worked out anew.
func (p *KeptPlan) whole(questions int) bool {
	if p.PlanSheet == nil {
		return false
	}
	for _, o := range p.Options {
		if o == nil || len(o.Questions) != questions {
			return false
		}
		for _, q := range o.Questions {
			if r := q.Rehearsed; r != nil && (r.Half == nil) != (r.Error == nil) {
				return false
			}
		}
	}
	return true
}
