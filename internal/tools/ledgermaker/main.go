// Command ledgermaker makes the ledger of a made-up shop with any number of holds, and
// measures how long the pages of a ledger take.
//
//	go run ./internal/tools/ledgermaker -holds 1000000 -out shop.db
//	go run ./internal/tools/ledgermaker -pages shop.db
//	go run ./internal/tools/ledgermaker -start shop.db
//	go run ./internal/tools/ledgermaker -measure shop.db
//
// Pages and start are those of the real program, -measure asks the ledger alone.
//
// A ticket has six holds: a trial of three as found and one as left of one joint. Readings
// are few, so that a million holds fit six gigabytes. The ledger is sound: boretight check
// says so.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"time"

	"boretight/internal/tools/ledgermaker/shop"
)

func main() {
	holds := flag.Int("holds", 10_000, "number of holds, rounded up to whole tickets")
	seed := flag.Uint64("seed", 1, "seed of what is made up")
	out := flag.String("out", "", "make the ledger `FILE`, which must not exist")
	measured := flag.String("measure", "", "measure the pages of the ledger `FILE`")
	shown := flag.String("pages", "", "measure all pages of the program on the ledger `FILE`")
	started := flag.String("start", "", "measure the program's start on the ledger `FILE`")
	program := flag.String("program", "", "a program built before; empty builds it")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	var err error
	switch {
	case *out != "":
		err = shop.Make(ctx, *out, *holds, *seed, time.Now())
	case *measured != "":
		err = measure(ctx, *measured, os.Stdout)
	case *shown != "":
		err = withProgram(ctx, *program, func(program string) error { return pages(ctx, program, *shown, os.Stdout) })
	case *started != "":
		err = withProgram(ctx, *program, func(program string) error { return start(ctx, program, *started, os.Stdout) })
	default:
		err = errors.New("nothing to do: want -out, -pages, -start or -measure with a FILE")
	}
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "ledgermaker: error:", err)
		os.Exit(1)
	}
}

// withProgram builds the program unless it was built before.
func withProgram(ctx context.Context, program string, f func(program string) error) error {
	if program != "" {
		return f(program)
	}
	dir, err := os.MkdirTemp("", "ledgermaker-")
	if err != nil {
		return err
	}
	if program, err = build(ctx, dir); err == nil {
		err = f(program)
	}
	return errors.Join(err, os.RemoveAll(dir))
}
