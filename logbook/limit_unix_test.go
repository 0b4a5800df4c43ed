//go:build unix

package logbook

import (
	"os/signal"
	"syscall"
)

// limitFiles lets no file of this process grow beyond size bytes: writing fails as on a full disk.
func limitFiles(size uint64) error {
	signal.Ignore(syscall.SIGXFSZ)
	return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: size, Max: size})
}
