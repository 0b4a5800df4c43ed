//go:build unix

package main

import (
	"os/signal"
	"syscall"
)

// heedlessOfTerminal lets reading from a terminal fail, instead of stopping the program, while a shell has it in the background.
func heedlessOfTerminal() { signal.Ignore(syscall.SIGTTIN) }
