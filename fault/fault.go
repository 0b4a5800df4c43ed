// Package fault is what padside says when something is wrong: an Error stops the
// work, a Warning does not. Both are written for the person at the keyboard.
// The package knows nothing of where they are shown.
package fault

import "fmt"

// Kind tells apart the ways in which work can end without a result.
// The command line turns it into an exit status, the browser into an HTTP status.
type Kind int

const (
	// Failed: something broke that the user could not have known (exit status 1).
	Failed Kind = iota + 1
	// Request: what was asked for is wrong: a file, a key, a value (exit status 2).
	Request
	// NoAnswer: the footage was read but holds no answer (exit status 3).
	NoAnswer
)

// Error says in one line what is wrong and where, and in a second what to do.
type Error struct {
	Kind    Kind
	Message string // what and where; lower case, no full stop, no line break
	Hint    string // what to do; may be empty only for Failed
	Cause   error  // the error underneath, or nil
}

// Error returns the message alone; faces show the hint on its own line.
func (e *Error) Error() string { return e.Message }

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

// Requestf makes a Request error with the given hint.
func Requestf(hint, format string, args ...any) *Error {
	return &Error{Kind: Request, Message: fmt.Sprintf(format, args...), Hint: hint}
}

// NoAnswerf makes a NoAnswer error with the given hint.
func NoAnswerf(hint, format string, args ...any) *Error {
	return &Error{Kind: NoAnswer, Message: fmt.Sprintf(format, args...), Hint: hint}
}

// Failedf makes a Failed error that wraps cause.
func Failedf(cause error, hint, format string, args ...any) *Error {
	return &Error{Kind: Failed, Message: fmt.Sprintf(format, args...), Hint: hint, Cause: cause}
}

// Warning is a doubt that does not stop the work. Every face shows it.
type Warning struct {
	Code    string `json:"code"`    // stable, kebab-case, for scripts
	Message string `json:"message"` // what is doubtful, what it does to the answers, how to get rid of it
}
