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

// kin reads the files that say what was measured of a launch.
func (d *Desk) kin(name string) map[string][]byte {
	return d.book.Together(name, answersFile, recorderFile)
}

func wholeFile(file []byte, to any) error { return json.Unmarshal(file, to) }

// readKept decodes both files of a launch by a function, and holds them against what they promise. A file that is missing makes a launch that was
// never measured; one that is not whole, for somebody or something else wrote in it, or that is of another result, is said.
func readKept(name string, files map[string][]byte, read func(file []byte, to any) error) keptLaunch {
	k := keptLaunch{sheet: &Sheet{}, record: &Recorder{}}
	for _, f := range []struct {
		name string
		to   interface{ check() error }
	}{{answersFile, k.sheet}, {recorderFile, k.record}} {
		b, there := files[f.name]
		if !there {
			return keptLaunch{}
		}
		err := read(b, f.to)
		if err == nil {
			err = f.to.check()
		}
		if err != nil {
			return keptLaunch{damage: fault.Requestf("measure it again", "%s is not measured: what was kept of it in %s is damaged: %v", name, f.name, err)}
		}
	}
	if sum := k.record.Files[answersFile]; sum != "" && sum != digestOf(files[answersFile]) {
		return keptLaunch{damage: fault.Requestf("measure it again", "%s is not measured: %s and %s are not of one result", name, answersFile, recorderFile)}
	}
	return k
}

// ofResult says whether a file belongs to the result of a recorder, by the digest that holds of it; results of earlier versions hold none.
func ofResult(recorder []byte, file string, content []byte) bool {
	var r Recorder
	if members(recorder, map[string]any{"of": &r.Of}, map[string]any{"footage": &r.Footage, "files": &r.Files}) != nil {
		return true // the page says that it is damaged
	}
	sum := r.Files[file]
	return sum == "" || sum == digestOf(content)
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
