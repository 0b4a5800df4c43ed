package desk

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"padside/fault"
)

// ErrUnknown is the cause of errors about a launch, a job or a picture that is not there.
var ErrUnknown = errors.New("unknown")

func faultUnknown(what, name string) error {
	return &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: fmt.Sprintf("there is no %s %q", what, name),
		Hint: "the logbook page shows what there is"}
}

func faultNotEmpty(dir string) error {
	hint := "choose another folder with --out, or remove this one"
	if _, err := os.Stat(filepath.Join(dir, "logbook.toml")); err == nil {
		hint = fmt.Sprintf("padside serve %s shows what it holds; or choose another folder with --out", dir)
	}
	return fault.Requestf(hint, "the folder %s is not empty", dir)
}

// about puts a file's name before what is wrong with what it names.
func about(path string, err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return fmt.Errorf("%s: %w", path, err)
	}
	g := *f
	g.Message, g.Cause = path+": "+f.Message, err
	return &g
}

func faultUnwritable(dir string, err error) error {
	return &fault.Error{Kind: fault.Request, Message: "cannot make the folder " + dir + ": " + err.Error(),
		Hint: "choose a folder you may write to", Cause: err}
}
