//go:build unix

package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"time"
)

const (
	// longestAway is how long the gauge is unplugged at most; at least it is as long as
	// a bumped plug loses contact.
	longestAway  = 2 * time.Second
	shortestAway = 20 * time.Millisecond
	// patience is how long a round waits for what must come and is not measured.
	patience = 20 * time.Second
)

// bench is the gauge's side of the rounds.
type bench struct {
	link   string
	random *rand.Rand
	line   *terminal
	now    *stretch
	watch  *watch
	// within is how soon the gauge must be read again; 0 is whenever.
	within time.Duration
}

// plugIn puts the gauge on a line and the link on its port.
func (b *bench) plugIn(line *terminal) error {
	b.line, b.now = line, plug(line, b.random)
	return os.Symlink(line.port.Name(), b.link)
}

// unplug takes the gauge away. What was said on the way to the port is lost.
func (b *bench) unplug() error {
	err := errors.Join(os.Remove(b.link), b.line.unplug())
	<-b.now.done
	return err
}

// result is one line of the table.
type result struct {
	inHold bool
	away   time.Duration
	resume time.Duration // from the plug to the first reading on the page
	sent   []float64     // of the stretch that the unplugging ended
}

// round brings the gauge to rest or into a hold, unplugs it and plugs it in again.
func (b *bench) round(ctx context.Context, inHold bool) (result, error) {
	r := result{inHold: inHold, away: between(b.random, shortestAway, longestAway)}
	if err := b.prepare(ctx, inHold); err != nil {
		return r, err
	}
	// The next terminal is made before this one is gone, or it would get its number.
	next, err := openTerminal()
	if err != nil {
		return r, err
	}
	if next.port.Name() == b.line.port.Name() {
		return r, fmt.Errorf("both terminals are %s", next.port.Name())
	}
	before := b.now
	if err := b.unplug(); err != nil {
		return r, err
	}
	r.sent = before.said()
	if err := pause(ctx, r.away); err != nil {
		return r, err
	}
	plugged := time.Now()
	if err := b.plugIn(next); err != nil {
		return r, err
	}
	err = b.watch.until(ctx, "the gauge is read again", patience, func() bool { return b.watch.last.After(plugged) })
	if err != nil {
		return r, err
	}
	b.watch.mu.Lock()
	r.resume = b.watch.last.Sub(plugged)
	b.watch.mu.Unlock()
	if b.within > 0 && r.resume > b.within {
		return r, fmt.Errorf("read again only after %v", r.resume)
	}
	return r, nil
}

// prepare waits at rest for a while and, for a hold, draws and waits in it.
func (b *bench) prepare(ctx context.Context, inHold bool) error {
	if err := b.watch.until(ctx, "the gauge is at rest", patience, func() bool { return b.watch.phase == "rest" }); err != nil {
		return err
	}
	if !inHold {
		return pause(ctx, between(b.random, 200*time.Millisecond, time.Second))
	}
	if err := pause(ctx, 1500*time.Millisecond); err != nil {
		return err
	}
	b.now.draw()
	if err := b.watch.until(ctx, "the hold is seen", patience, func() bool { return b.watch.phase == "holding" }); err != nil {
		return err
	}
	return pause(ctx, between(b.random, 100*time.Millisecond, 2*time.Second))
}

func between(random *rand.Rand, least, most time.Duration) time.Duration {
	return least + time.Duration(random.Int64N(int64(most-least)))
}

// pause waits or returns why it could not.
func pause(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// times sums up how long the gauge took to be read again.
func times(results []result) (longest, median time.Duration, resumed int) {
	var all []time.Duration
	for _, r := range results {
		if r.resume > 0 {
			resumed++
		}
		all = append(all, r.resume)
	}
	if len(all) == 0 {
		return 0, 0, 0
	}
	slices.Sort(all)
	return all[len(all)-1], all[len(all)/2], resumed
}
