package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"text/tabwriter"
	"time"
)

// childVariable in the environment makes this program a child.
const childVariable = "KILLROUNDS_CHILD"

func main() {
	ctx := context.Background()
	if os.Getenv(childVariable) != "" {
		if err := child(ctx, os.Args[len(os.Args)-1], os.Stdout); err != nil {
			fmt.Fprintln(os.Stderr, "killrounds: child:", err)
			os.Exit(2)
		}
		return
	}
	rounds := flag.Int("rounds", 20, "number of kills")
	seed := flag.Uint64("seed", 1, "seed of the moments")
	flag.Parse()
	self, err := os.Executable()
	if err == nil {
		err = run(ctx, []string{self}, *rounds, *seed, os.Stdout)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "killrounds: error:", err)
		os.Exit(1)
	}
}

// Kills fall within a hold: after the child's first readings, and late enough that
// half of them meet the second hold.
const (
	earliest = 100 * time.Millisecond
	latest   = 4 * time.Second
)

// run makes the rounds on one ledger, which grows, and prints a table.
func run(ctx context.Context, self []string, rounds int, seed uint64, out io.Writer) error {
	dir, err := os.MkdirTemp("", "killrounds-")
	if err != nil {
		return err
	}
	random := rand.New(rand.NewPCG(seed, 0))
	table := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(table, "round\tkilled after s\tholds\tinterrupted\treadings pushed\tkept\tmissing ms\tended after s\t\n")
	for i := range rounds {
		after := earliest + time.Duration(random.Int64N(int64(latest-earliest)))
		r, e := round(ctx, self, filepath.Join(dir, "ledger.db"), after)
		word := "ok"
		if e != nil {
			word = "BROKEN"
			err = errors.Join(err, fmt.Errorf("round %d: %w", i+1, e))
		}
		fmt.Fprintf(table, "%d\t%.3f\t%d\t%d\t%d\t%d\t%d\t%.2f\t %s\n", i+1, r.after.Seconds(), r.holds, r.interrupted,
			r.pushed, r.kept, r.missing.Milliseconds(), r.ended.Seconds(), word)
	}
	if e := table.Flush(); e != nil {
		return e
	}
	if err != nil {
		return fmt.Errorf("%w (the ledger is kept in %s)", err, dir)
	}
	return os.RemoveAll(dir)
}
