//go:build !linux

package footage

import "os"

// widen does nothing: only Linux lets a pipe's size be set.
func widen(*os.File) {}
