package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"sync"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

// gauges are the rates in Hz that the child feeds.
var gauges = [...]int{100, 1000}

// wholeHold is how long the child's first hold of each gauge lasts. The second
// lasts until the kill.
const wholeHold = 500 * time.Millisecond

// child writes holds to the ledger at path until it is killed. On out it says, a
// line each: "pushed ID RATE N", N readings of hold ID were handed to the
// writer; "acknowledged ID RATE N", a hold of N readings is on the disk with its end.
func child(ctx context.Context, path string, out io.Writer) error {
	db, err := sqlite.Open(ctx, path, sqlite.Options{})
	if err != nil {
		return err
	}
	w := ledger.NewWriter(db, ledger.WriterOptions{})
	var all sync.WaitGroup
	all.Go(func() { _ = w.Run(ctx) })
	p := &progress{out: out}
	for _, rate := range gauges {
		all.Go(func() {
			if err := feed(ctx, w, rate, p); err != nil {
				p.say("error %v\n", err)
			}
		})
	}
	all.Wait()
	return db.Close()
}

// progress writes whole lines.
type progress struct {
	mu  sync.Mutex
	out io.Writer
}

func (p *progress) say(format string, args ...any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	fmt.Fprintf(p.out, format, args...)
}

// feed writes one short hold and then one without an end.
func feed(ctx context.Context, w *ledger.Writer, rate int, p *progress) error {
	id, n, err := push(ctx, w, rate, wholeHold, p)
	if err != nil {
		return err
	}
	receipt, err := w.EndHold(id, trial.Outcome{Schema: trial.SchemaHold})
	if err != nil {
		return err
	}
	if err := receipt.Wait(ctx); err != nil {
		return err
	}
	p.say("acknowledged %s %d %d\n", id, rate, n)
	_, _, err = push(ctx, w, rate, math.MaxInt64, p)
	return err
}

// push begins a hold and hands over readings in real time for a duration.
func push(ctx context.Context, w *ledger.Writer, rate int, long time.Duration, p *progress) (string, int, error) {
	b := ledger.Begin{ID: ledger.NewID(), Gauge: fmt.Sprintf("%d Hz", rate), Started: time.Now()}
	if err := w.BeginHold(b); err != nil {
		return "", 0, err
	}
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	start, n := time.Now(), 0
	for time.Since(start) < long {
		select {
		case <-tick.C:
		case <-ctx.Done():
			return b.ID, n, ctx.Err()
		}
		due := int(time.Since(start).Seconds() * float64(rate))
		if due == n {
			continue
		}
		if err := w.AppendReadings(b.ID, readings(n, due, rate)); err != nil {
			return b.ID, n, err
		}
		n = due
		p.say("pushed %s %d %d\n", b.ID, rate, n)
	}
	return b.ID, n, nil
}

// readings are those from index n up to end of a gauge: any kept one can be told
// by its index.
func readings(n, end, rate int) []trace.Reading {
	rs := make([]trace.Reading, 0, end-n)
	for ; n < end; n++ {
		rs = append(rs, reading(n, rate))
	}
	return rs
}

func reading(n, rate int) trace.Reading {
	return trace.Reading{T: time.Duration(n) * time.Second / time.Duration(rate), Pressure: -2600 + float64(n), Celsius: 21}
}
