package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"time"
)

// lookEvery is how often the memory of the running program is read. The kernel keeps its peak, so that
// only a rise within the last of these intervals can be missed.
const lookEvery = 10 * time.Millisecond

// runWatched runs a program and returns the peak of its own resident memory in MB, without its children's.
func runWatched(cmd *exec.Cmd) (float64, error) {
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	if err := cmd.Start(); err != nil {
		return 0, err
	}
	done := make(chan error, 1)
	go func() { done <- cmd.Wait() }()
	peak := 0.0
	for {
		select {
		case err := <-done:
			if err != nil {
				return peak, fmt.Errorf("%s: %w\n%s", cmd.Path, err, complaint.String())
			}
			return peak, nil
		case <-time.After(lookEvery):
			peak = max(peak, residentPeak(cmd.Process.Pid))
		}
	}
}

// residentPeak returns VmHWM of a process (proc(5)) in MB, 0 where it cannot be read.
func residentPeak(pid int) float64 {
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	_, rest, found := bytes.Cut(b, []byte("VmHWM:"))
	if !found {
		return 0
	}
	var kB float64
	if _, err := fmt.Sscan(string(rest[:min(len(rest), 40)]), &kB); err != nil {
		return 0
	}
	return kB / 1024
}
