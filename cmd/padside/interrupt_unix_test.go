//go:build unix

package main

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"
)

// TestSecondInterruptEnds: work that does not heed the first Ctrl-C is ended by the second.
func TestSecondInterruptEnds(t *testing.T) {
	if os.Getenv("PADSIDE_DEAF") != "" {
		ctx, stop := untilInterrupted()
		defer stop()
		fmt.Println("at work")
		<-ctx.Done()
		fmt.Println("asked to end")
		select {} // deaf
	}
	t.Parallel()
	child := exec.Command(os.Args[0], "-test.run=^TestSecondInterruptEnds$")
	child.Env = append(os.Environ(), "PADSIDE_DEAF=1")
	out, err := child.StdoutPipe()
	if err == nil {
		err = child.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	said := bufio.NewReader(out)
	for _, want := range []string{"at work", "asked to end"} {
		if line, err := said.ReadString('\n'); line != want+"\n" {
			t.Fatalf("the child said %q, %v; want %q", line, err, want)
		}
		child.Process.Signal(syscall.SIGINT)
	}
	ended := make(chan error, 1)
	go func() { ended <- child.Wait() }()
	again := time.NewTicker(10 * time.Millisecond) // a signal may come before the first one's handler is gone
	defer again.Stop()
	for patience := time.After(20 * time.Second); ; {
		select {
		case <-ended:
			return
		case <-again.C:
			child.Process.Signal(syscall.SIGINT)
		case <-patience:
			child.Process.Kill()
			t.Fatal("the child goes on")
		}
	}
}
