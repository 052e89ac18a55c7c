// Command ledgermaker makes the ledger of a made-up shop with any number of holds, and
// measures how long the pages of a ledger take.
//
//	go run ./internal/tools/ledgermaker -holds 1000000 -out shop.db
//	go run ./internal/tools/ledgermaker -measure shop.db
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
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	var err error
	switch {
	case *out != "":
		err = shop.Make(ctx, *out, *holds, *seed, time.Now())
	case *measured != "":
		err = measure(ctx, *measured, os.Stdout)
	default:
		err = errors.New("nothing to do: want -out FILE or -measure FILE")
	}
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "ledgermaker: error:", err)
		os.Exit(1)
	}
}
