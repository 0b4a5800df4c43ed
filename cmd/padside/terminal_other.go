//go:build !unix

package main

func heedlessOfTerminal() {}
