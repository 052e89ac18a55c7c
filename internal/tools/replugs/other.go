//go:build !unix

package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "replugs: error: this system has no pseudo-terminals; run it on Linux or macOS")
	os.Exit(1)
}
