//go:build linux

package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
)

func main() {
	o := options{}
	flag.IntVar(&o.gauges, "gauges", 8, "number of gauges")
	flag.Float64Var(&o.hz, "hz", 1000, "readings a second of each")
	flag.StringVar(&o.over, "over", "pty", "what the gauges speak over: pty or tcp")
	flag.StringVar(&o.at, "at", "holds", "what the gauges do: holds, one after another, or rest")
	flag.DurationVar(&o.warm, "warm", 10*time.Second, "how long to run before looking")
	flag.IntVar(&o.seconds, "seconds", 60, "how long to look")
	flag.IntVar(&o.browsers, "browsers", 0, "number of browsers open on the page")
	flag.IntVar(&o.slow, "slow", 0, "number of readers of the live stream that take nothing")
	flag.StringVar(&o.program, "program", "", "a program built before; empty builds it")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, o, os.Stdout)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "load: error:", err)
		os.Exit(1)
	}
}

type options struct {
	gauges   int
	hz       float64
	over, at string
	warm     time.Duration
	seconds  int
	browsers int
	slow     int
	program  string
}

// run measures and prints the table. Where something fails, the program's log is kept.
func run(ctx context.Context, o options, out io.Writer) error {
	dir, err := os.MkdirTemp("", "load-")
	if err != nil {
		return err
	}
	r, err := measure(ctx, dir, o)
	if err != nil {
		return fmt.Errorf("%w (ledger and log are kept in %s)", err, dir)
	}
	return errors.Join(r.print(out, o), os.RemoveAll(dir))
}

// result is what was found.
type result struct {
	address, ready time.Duration // of the start
	taken          taken
	high           int64 // bytes resident at the most since the start
	latency        []time.Duration
	readings       float64 // taken by the program, of all gauges
	written        int     // readings written by the gauges
	lost, dropped  float64
	holds          float64
	lag            float64 // s
}

// measure starts the program and its company, and watches.
func measure(ctx context.Context, dir string, o options) (r result, err error) {
	path := o.program
	if path == "" {
		if path, err = build(ctx, dir); err != nil {
			return r, err
		}
	}
	gs, err := openGauges(o.gauges, o.hz, o.over, o.at == "holds")
	if err != nil {
		return r, err
	}
	feeding, endFeeding := context.WithCancel(ctx)
	fed := make(chan error, 1)
	go func() { fed <- gs.run(feeding) }()
	defer func() {
		endFeeding()
		err = errors.Join(err, <-fed)
	}()
	p, err := serve(ctx, path, dir, gs.addresses())
	if err != nil {
		return r, err
	}
	defer func() { err = errors.Join(err, p.stop()) }()
	r.address, r.ready = p.address, p.ready

	slow, err := openSlow(p.page, o.slow)
	if err != nil {
		return r, err
	}
	defer slow.close()
	shown, err := openBrowsers(ctx, dir, p.page, o.browsers)
	if err != nil {
		return r, err
	}
	defer shown.close()

	select {
	case <-time.After(o.warm):
	case <-ctx.Done():
		return r, ctx.Err()
	}
	if err := shown.begin(); err != nil {
		return r, err
	}
	if r.taken, err = watch(ctx, p.cmd.Process.Pid, time.Duration(o.seconds)*time.Second); err != nil {
		return r, err
	}
	if r.latency, err = shown.latencies(gs[0]); err != nil {
		return r, err
	}
	return r, r.ask(ctx, p, gs)
}

// ask takes what the program itself counts.
func (r *result) ask(ctx context.Context, p *program, gs gauges) error {
	u, err := usageOf(p.cmd.Process.Pid)
	r.high = u.high
	for name, to := range map[string]*float64{
		"boretight_gauge_readings_total":      &r.readings,
		"boretight_gauge_readings_lost_total": &r.lost,
		"boretight_page_events_dropped_total": &r.dropped,
		"boretight_holds_total":               &r.holds,
		"boretight_ledger_lag_seconds":        &r.lag,
	} {
		v, e := p.metric(ctx, name)
		*to, err = v, errors.Join(err, e)
	}
	for _, g := range gs {
		r.written += len(g.wrote())
	}
	return err
}
