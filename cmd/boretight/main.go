// Command boretight measures how much air a joint of a woodwind instrument leaks.
//
// It exits with 0 when all is well, 1 on an error, 2 on a wrong command line, 3 when
// a joint failed or a ledger is damaged, and 4 when nothing can be said.
package main

import (
	"context"
	"os"
)

func main() {
	saveMemory()
	os.Exit(int(run(context.Background(), os.Args[1:], app{
		in:  os.Stdin,
		out: os.Stdout,
		err: os.Stderr,
		env: os.LookupEnv,
	})))
}
