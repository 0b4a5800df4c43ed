package logbook

import (
	"errors"
	"io/fs"
	"os"
	"strings"
	"unicode/utf8"

	"padside/fault"
)

// readText reads a text file that a user named: what says of which kind it is ("launch", "heat").
func readText(path, what string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fault.Requestf("give the path of a "+what+" file", "there is no file %s", path)
	case err == nil && info.IsDir():
		return nil, fault.Requestf("name the "+what+".toml inside it", "%s is a folder", path)
	case err == nil && info.Size() > longestFile:
		return nil, fault.Requestf("a "+what+" file is a short text", "%s: is larger than %d bytes", path, longestFile)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, &fault.Error{Kind: fault.Request, Cause: err, Message: "cannot read " + path + ": " + oneLine(err.Error()), Hint: "check the file's permissions"}
	}
	return data, nil
}

// textTree parses a file's content, with or without a mark at its beginning.
func textTree(name string, data []byte) (*table, error) {
	if !utf8.Valid(data) {
		return nil, fault.Requestf("save the file as UTF-8", "%s: is not UTF-8 text", name)
	}
	return parseTree(name, []byte(strings.TrimPrefix(string(data), mark)))
}
