package footage

import (
	"os"
	"syscall"
)

// pipeRoom is what the kernel is asked to keep of a decoder's output: the most an ordinary user may have (pipe(7)).
const pipeRoom = 1 << 20

// widen makes the pipe hold more, so that decoder and reader wait for each other less often. Where the kernel refuses, the
// pipe stays as it is.
func widen(f *os.File) {
	const setPipeSize = 1031 // F_SETPIPE_SZ, fcntl(2)
	if c, err := f.SyscallConn(); err == nil {
		_ = c.Control(func(fd uintptr) { // refused: the pipe works as it is
			_, _, _ = syscall.Syscall(syscall.SYS_FCNTL, fd, setPipeSize, pipeRoom)
		})
	}
}
