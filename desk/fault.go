package desk

import "padside/fault"

func faultNotEmpty(dir string) error {
	return fault.Requestf("choose another folder with --out, or remove this one", "the folder %s is not empty", dir)
}

func faultUnwritable(dir string, err error) error {
	return &fault.Error{Kind: fault.Request, Message: "cannot make the folder " + dir + ": " + err.Error(),
		Hint: "choose a folder you may write to", Cause: err}
}
