package desk

import (
	"bytes"
	"encoding/json"
	"errors"
)

// brief reads of what was measured only what a card shows. Traces and histories, which make up
// nearly all of the files, are not looked at: a logbook of a thousand launches opens in a fraction of a second
// (BenchmarkLogbookOfAThousand in package web).
func (d *Desk) brief(name string) keptLaunch {
	return readKept(name, d.kin(name), func(file []byte, to any) error {
		switch to := to.(type) {
		case *Sheet:
			return members(file, map[string]any{"footage": &to.Footage, "answers": &to.Answers}, nil)
		case *Recorder:
			return members(file, map[string]any{"of": &to.Of}, map[string]any{"footage": &to.Footage, "files": &to.Files})
		}
		return nil
	})
}

// members reads the wanted members of a JSON object and stops after the last of them, and after those of next that follow it at once, which
// need not be there.
func members(b []byte, want, next map[string]any) error {
	d := json.NewDecoder(bytes.NewReader(b))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return errors.New("no JSON object")
	}
	for left := len(want); ; {
		key, err := d.Token()
		name, inside := key.(string)
		to := want[name]
		if left == 0 {
			to = next[name]
		}
		switch {
		case left == 0 && (err != nil || to == nil):
			return nil
		case err != nil:
			return err
		case !inside: // the object ended
			return errors.New("a member is missing")
		case to == nil:
			to = new(json.RawMessage)
		case left > 0:
			left--
		}
		if err := d.Decode(to); err != nil {
			return err
		}
	}
}
