//go:build unix

package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
	"text/tabwriter"
	"time"
)

func main() {
	o := options{}
	flag.IntVar(&o.rounds, "rounds", 20, "number of rounds at rest, and again in a hold")
	flag.Uint64Var(&o.seed, "seed", 1, "seed of the moments")
	flag.DurationVar(&o.within, "within", 3*time.Second, "how soon the gauge must be read again; 0 is whenever")
	flag.DurationVar(&o.idle, "idle", 20*time.Second, "how long to run without a gauge at the end; 0 leaves it out")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, o, os.Stdout)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "replugs: error:", err)
		os.Exit(1)
	}
}

type options struct {
	rounds int
	seed   uint64
	within time.Duration
	idle   time.Duration
}

// run makes the rounds and prints the tables. Where something is broken, the ledger
// and the program's log are kept.
func run(ctx context.Context, o options, out io.Writer) error {
	dir, err := os.MkdirTemp("", "replugs-")
	if err != nil {
		return err
	}
	program, err := build(ctx, dir)
	if err == nil {
		err = replugs(ctx, program, dir, o, out)
	}
	if err == nil && o.idle > 0 {
		err = idle(ctx, program, filepath.Join(dir, "idle"), o.idle, out)
	}
	if err != nil {
		return fmt.Errorf("%w (ledger and log are kept in %s)", err, dir)
	}
	return os.RemoveAll(dir)
}

// replugs makes rounds at rest and in a hold, in turns.
func replugs(ctx context.Context, path, dir string, o options, out io.Writer) (err error) {
	b := &bench{
		link: filepath.Join(dir, "ttyGAUGE"), within: o.within, random: rand.New(rand.NewPCG(o.seed, 0)),
		watch: &watch{phase: "rest", changed: make(chan struct{}, 1)},
	}
	line, err := openTerminal()
	if err != nil {
		return err
	}
	if err := b.plugIn(line); err != nil {
		return err
	}
	p, err := serve(ctx, path, dir, "serial:"+b.link)
	if err != nil {
		return errors.Join(err, b.unplug())
	}
	following, stop := context.WithCancel(ctx)
	followed := make(chan error, 1)
	go func() { followed <- b.watch.follow(following, p.page) }()

	results, err := b.rounds(ctx, o.rounds)
	stop()
	err = errors.Join(err, <-followed, p.stop(), b.unplug())
	inHold := results[1]
	k, e := look(ctx, filepath.Join(dir, "ledger.db"), inHold)
	err = errors.Join(err, e, show(out, results, k, b.watch.disorder))
	if n := b.watch.disorder + k.disorder; n > 0 {
		err = errors.Join(err, fmt.Errorf("%d readings came twice or out of order", n))
	}
	return err
}

// rounds returns the results at rest and in a hold.
func (b *bench) rounds(ctx context.Context, n int) (results [2][]result, err error) {
	for i := range 2 * n {
		r, e := b.round(ctx, i%2 == 1)
		results[i%2] = append(results[i%2], r)
		if e != nil {
			err = errors.Join(err, fmt.Errorf("round %d: %w", i+1, e))
			if r.resume == 0 {
				break // without a gauge there is no further round
			}
		}
	}
	return results, err
}

// show prints the table.
func show(out io.Writer, results [2][]result, k kept, disorder int) error {
	table := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(table, "unplugged\trounds\tresumed\tlongest to resume ms\tmedian ms\tholds cut and marked\treadings doubled or out of order\t\n")
	for i, name := range []string{"at rest", "in a hold"} {
		longest, median, resumed := times(results[i])
		marked, wrong := "-", disorder
		if i == 1 {
			marked, wrong = fmt.Sprint(k.marked), k.disorder
		}
		fmt.Fprintf(table, "%s\t%d\t%d\t%d\t%d\t%s\t%d\t\n", name, len(results[i]), resumed,
			longest.Milliseconds(), median.Milliseconds(), marked, wrong)
	}
	return table.Flush()
}

// idle runs the program without its gauge and prints what it takes of a processor.
func idle(ctx context.Context, path, dir string, long time.Duration, out io.Writer) error {
	if err := os.Mkdir(dir, 0o700); err != nil {
		return err
	}
	// What starting takes is measured by itself and taken off.
	short, err := processorTimeOf(ctx, path, dir, time.Second)
	if err != nil {
		return err
	}
	whole, err := processorTimeOf(ctx, path, dir, time.Second+long)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "without a gauge for %v: %.2f %% of a processor\n", long, 100*(whole-short).Seconds()/long.Seconds())
	return err
}

func processorTimeOf(ctx context.Context, path, dir string, long time.Duration) (time.Duration, error) {
	p, err := serve(ctx, path, dir, "serial:"+filepath.Join(dir, "ttyMISSING"))
	if err != nil {
		return 0, err
	}
	if err := errors.Join(pause(ctx, long), p.stop()); err != nil {
		return 0, err
	}
	return p.processorTime(), nil
}
