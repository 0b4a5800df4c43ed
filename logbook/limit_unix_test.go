//go:build unix

package logbook

import (
	"os/signal"
	"syscall"
)

// limitFiles lets no file of this process grow beyond size bytes until lift is called: writing
// fails as on a full disk.
func limitFiles(size uint64) (lift func() error, err error) {
	signal.Ignore(syscall.SIGXFSZ)
	var before syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &before); err != nil {
		return nil, err
	}
	lift = func() error { return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &before) }
	return lift, syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: size, Max: before.Max})
}
