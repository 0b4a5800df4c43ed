package logbook

import (
	"bytes"
	"errors"
	"io/fs"
	"strings"
	"unicode/utf8"

	"padside/disk"
	"padside/fault"
)

// ReadShort reads a short file that a user named, such as a launch file: regular, and no larger than those may be.
func ReadShort(path string) ([]byte, error) { return disk.Read(path, longestFile) }

// readText reads a text file that a user named: what says of which kind it is ("launch", "heat").
func readText(path, what string) ([]byte, error) {
	data, err := ReadShort(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fault.Requestf("give the path of a "+what+" file", "there is no file %s", path)
	case errors.Is(err, disk.ErrFolder):
		return nil, fault.Requestf("name the "+what+".toml inside it", "%s is a folder", path)
	case errors.Is(err, disk.ErrNotRegular):
		return nil, fault.Requestf("give the path of a "+what+" file", "%s", err)
	case errors.Is(err, disk.ErrTooLarge):
		return nil, noText(path, what)
	case err != nil:
		return nil, &fault.Error{Kind: fault.Request, Cause: err, Message: "cannot read " + path + ": " + oneLine(err.Error()), Hint: "check the file's permissions"}
	}
	if bytes.IndexByte(data, 0) >= 0 {
		return nil, noText(path, what)
	}
	if is := kindOfFile(data); is != "" && is != what {
		return nil, fault.Requestf("give the path of a "+what+" file", "%s is a %s file, where a %s file is needed", path, is, what)
	}
	return data, nil
}

// noText refuses a file that is no text: footage, most likely, which a launch file names.
func noText(path, what string) error {
	hint := "give the path of a " + what + " file"
	if what == "launch" {
		hint = "footage is named under [footage] of a launch file: padside measure --sample prints one to begin with; padside inspect looks at footage"
	}
	return fault.Requestf(hint, "%s is no short text, where a %s file is needed", path, what)
}

// tellTale are keys that a file of one kind must have, and no other kind may.
var tellTale = [...]struct{ kind, key string }{{"launch", "footage"}, {"heat", "entry"}, {"shoot", "place"}, {"flight", "drag_coefficient"}}

// kindOfFile is what a file looks like; empty where it looks like none, or cannot be read: its reader says why.
func kindOfFile(data []byte) string {
	root, err := textTree("", data)
	if err != nil {
		return ""
	}
	for _, t := range tellTale {
		if root.get(t.key) != nil {
			return t.kind
		}
	}
	return ""
}

// textTree parses a file's content, with or without a mark at its beginning.
func textTree(name string, data []byte) (*table, error) {
	if !utf8.Valid(data) {
		return nil, fault.Requestf("save the file as UTF-8", "%s: is not UTF-8 text", name)
	}
	return parseTree(name, []byte(strings.TrimPrefix(string(data), mark)))
}
