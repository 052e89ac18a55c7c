//go:build !linux

package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "load: error: this system does not tell what a program takes in /proc; run it on Linux")
	os.Exit(1)
}
