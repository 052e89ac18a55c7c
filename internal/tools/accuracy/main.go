// Command accuracy measures the estimator against simulated holds of known
// truth, family by family, and prints tables for DEVELOPERS.md: one of the holds that
// nothing disturbs, one of those that something does.
//
//	go run ./internal/tools/accuracy -n 500
//	go run ./internal/tools/accuracy -family wide,bump -n 200 -worst 10
//
//	go run ./internal/tools/accuracy -n 60 -repeats 50
//
// The last repeats each of 60 clean holds 50 times with fresh noise and compares the
// scatter with the Cramér–Rao bound (bound.go).
//
// The volume told is off by a normal error of the stated uncertainty, as a
// measured one would be; the gauge's span is exact. Equal seeds give equal tables.
package main

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"

	"boretight/internal/gauge/sim"
)

type options struct {
	n       int
	seed    uint64
	volumeU float64
	worst   int
	cut     float64
	repeats int
	drawn   bool
	share   float64
}

func main() {
	var o options
	names := flag.String("family", "", "comma-separated families; empty means all")
	flag.IntVar(&o.n, "n", 500, "holds of each family")
	flag.Uint64Var(&o.seed, "seed", 1, "seed of everything")
	flag.Float64Var(&o.volumeU, "volume-u", 0.01, "relative standard uncertainty of the told volume")
	flag.IntVar(&o.worst, "worst", 0, "list so many of the holds furthest off")
	flag.Float64Var(&o.cut, "cut", 0, "look at each hold so many seconds after isolation, as a running estimate does; 0 means at its end")
	flag.IntVar(&o.repeats, "repeats", 0, "if not 0: repeat each of n clean holds so often with fresh noise, and compare with the Cramér–Rao bound")
	flag.BoolVar(&o.drawn, "drawn", false, "with -repeats: draw what is believed of a joint instead of taking its mean")
	flag.Float64Var(&o.share, "share", 0, "with -repeats and without -drawn: inertial share of the leaks, 0 laminar")
	flag.Parse()
	if o.repeats > 0 {
		if err := efficiency(o); err != nil {
			fmt.Fprintln(os.Stderr, "accuracy: error:", err)
			os.Exit(1)
		}
		return
	}

	var clean, disturbed []sim.Family
	for _, f := range sim.Families() {
		switch {
		case *names != "" && !slices.Contains(strings.Split(*names, ","), f.Name):
		case f.Disturbed:
			disturbed = append(disturbed, f)
		default:
			clean = append(clean, f)
		}
	}
	tabulate(cleanHead, clean, table.row, o)
	tabulate(disturbedHead, disturbed, table.disturbedRow, o)
}

// tabulate measures families and prints a row for each.
func tabulate(head string, families []sim.Family, row func(t table, name string) string, o options) {
	if len(families) == 0 {
		return
	}
	fmt.Println(head)
	for _, f := range families {
		t := run(f, o)
		fmt.Println(row(t, f.Name))
		t.list(o.worst)
	}
	fmt.Println()
}
