// Package disk opens and reads files that others wrote, without being held up by what is no file: a named pipe without a writer, a
// device without an end, a file larger than what is expected.
//
// It knows nothing of what the files hold.
package disk
