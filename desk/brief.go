package desk

import (
	"bytes"
	"encoding/json"
	"errors"
)

// brief reads of what was measured only what a card shows, nil where there is nothing whole. Traces and histories, which make up
// nearly all of the files, are not looked at: a logbook of a thousand launches opens in a fraction of a second
// (BenchmarkLogbookOfAThousand in package web).
func (d *Desk) brief(name string) (*Sheet, *Recorder) {
	var sheet Sheet
	var record Recorder
	for _, f := range []struct {
		name string
		want map[string]any
	}{
		{answersFile, map[string]any{"footage": &sheet.Footage, "answers": &sheet.Answers}},
		{recorderFile, map[string]any{"of": &record.Of}},
	} {
		b, err := d.book.File(name, f.name)
		if err != nil || members(b, f.want) != nil {
			return nil, nil
		}
	}
	return &sheet, &record
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
