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
	return d.readKept(name, func(file []byte, to any) error {
		switch to := to.(type) {
		case *Sheet:
			return members(file, map[string]any{"footage": &to.Footage, "answers": &to.Answers})
		case *Recorder:
			return members(file, map[string]any{"of": &to.Of})
		}
		return nil
	})
}

// members reads the wanted members of a JSON object and stops after the last of them.
func members(b []byte, want map[string]any) error {
	d := json.NewDecoder(bytes.NewReader(b))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return errors.New("no JSON object")
	}
	for left := len(want); left > 0; {
		key, err := d.Token()
		if err != nil {
			return err
		}
		name, ok := key.(string)
		if !ok {
			return errors.New("a member is missing") // the object ended
		}
		to, ok := want[name]
		if !ok {
			to = new(json.RawMessage)
		} else {
			left--
		}
		if err := d.Decode(to); err != nil {
			return err
		}
	}
	return nil
}
