package desk

import (
	"errors"
	"fmt"

	"padside/fault"
)

// ErrUnknown is the cause of errors about a launch, a job or a picture that is not there.
var ErrUnknown = errors.New("unknown")

func faultUnknown(what, name string) error {
	return &fault.Error{Kind: fault.Request, Cause: ErrUnknown, Message: fmt.Sprintf("there is no %s %q", what, name),
		Hint: "the logbook page shows what there is"}
}

func faultNotEmpty(dir string) error {
	return fault.Requestf("choose another folder with --out, or remove this one", "the folder %s is not empty", dir)
}

func faultUnwritable(dir string, err error) error {
	return &fault.Error{Kind: fault.Request, Message: "cannot make the folder " + dir + ": " + err.Error(),
		Hint: "choose a folder you may write to", Cause: err}
}
