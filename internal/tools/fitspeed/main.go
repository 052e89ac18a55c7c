// Command fitspeed times our fit of an exponential with offset beside GSL's
// multifit_nlinear and SciPy's curve_fit, in one run, on the same readings from the same
// start, and prints a table for DEVELOPERS.md.
//
//	go run ./internal/tools/fitspeed
//	go run ./internal/tools/fitspeed -k 0.26 -repeats 200 -python /usr/bin/python3
//
// Each of them fits in its own process, with exact derivatives, to a tolerance of
// 10⁻¹⁰ and with the covariance; what starting up and reading takes is not in the time.
// Ours is told the first value of K alone, which is all it can use. All must agree on K.
// What is not installed is left out, and said. The last rows are the full model of a
// bore ([decay.Fit]), which is what a hold is judged by.
package main

import (
	"flag"
	"fmt"
	"os"
)

type options struct {
	repeats int
	seed    uint64
	cc      string
	python  string
	k       float64
}

func main() {
	var o options
	flag.IntVar(&o.repeats, "repeats", 500, "fits of each, of which the median counts")
	flag.Uint64Var(&o.seed, "seed", 1, "seed of the readings")
	flag.StringVar(&o.cc, "cc", "gcc", "C compiler")
	flag.StringVar(&o.python, "python", "", "Python that has SciPy; empty tries python3 and /usr/bin/python3")
	flag.Float64Var(&o.k, "k", 0.5, "first value of K in 1/s; the readings are made with 0.25")
	flag.Parse()
	if o.repeats < 1 {
		fmt.Fprintln(os.Stderr, "fitspeed: -repeats must be at least 1")
		os.Exit(2)
	}
	if err := run(o); err != nil {
		fmt.Fprintln(os.Stderr, "fitspeed:", err)
		os.Exit(1)
	}
}

func run(o options) error {
	dir, err := os.MkdirTemp("", "fitspeed")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	rivals, missing := findRivals(dir, o)
	for _, m := range missing {
		fmt.Println("left out:", m)
	}
	fmt.Println("| readings | fit | µs a fit, median | least | times ours | k | off ours, relative |")
	fmt.Println("| --- | --- | ---: | ---: | ---: | --- | ---: |")
	for _, n := range []int{1000, 10000} {
		for _, even := range []bool{false, true} {
			if err := compare(dir, newReadings(n, even, o.seed), rivals, o); err != nil {
				return err
			}
		}
	}
	for _, perSecond := range []float64{100, 1000} {
		if err := fullModel(perSecond, o); err != nil {
			return err
		}
	}
	return nil
}
