package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"sync"

	"boretight/internal/bench"
	"boretight/internal/bench/guided"
	"boretight/internal/gauge"
	"boretight/internal/hold"
)

// readLines returns what is typed, line by line, until the input or ctx ends. The reader
// itself cannot be woken: where the input is a keyboard, it waits until the program ends.
func readLines(ctx context.Context, in io.Reader) <-chan string {
	lines := make(chan string)
	if in == nil {
		close(lines)
		return lines
	}
	go func() {
		defer close(lines)
		for s := bufio.NewScanner(in); s.Scan(); {
			select {
			case lines <- s.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	return lines
}

// talk tells on standard error what goes on. Replies and the bench's events come from
// two goroutines.
type talk struct {
	quiet    bool
	mu       sync.Mutex
	progress *progress
	next     string
	moment   guided.Moment // of the hold in progress or the next one
	due      bool          // it was said in this hold
}

// await is told when in the holds to come something is to be done.
func (t *talk) await(m guided.Moment) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.moment = m
}

// remind says that the moment has come, once a hold.
func (t *talk) remind(held float64) {
	if t.due || t.moment.Text == "" || held < t.moment.After {
		return
	}
	t.due = true
	t.progress.say(t.moment.Text)
}

// reply tells what became of the last thing, and what to do next.
func (t *talk) reply(r guided.Reply, next string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch {
	case r.Text == "":
	case r.Accepted:
		t.progress.say("ok: " + r.Text)
	default:
		t.progress.say("refused: " + r.Text)
	}
	if next != t.next || !r.Accepted {
		t.progress.say(next)
	}
	t.next = next
}

// follow tells of the bench's events until they end.
func (t *talk) follow(events *bench.Subscription) error {
	defer events.Close()
	for e := range events.C {
		if d, ok := e.Data.(bench.HoldData); ok && d.Unrecorded != "" {
			return &hintedError{
				err:  fmt.Errorf("hold %s is not in the ledger, so it does not count: %s", d.ID, d.Unrecorded),
				hint: "make room, or choose another ledger with --ledger, and measure again",
			}
		}
		t.event(e)
	}
	return nil
}

func (t *talk) event(e bench.Event) {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch d := e.Data.(type) {
	case bench.StateData:
		t.due = t.due && d.Phase == hold.Holding.String()
		if !t.quiet || !d.Up || d.Problem != "" || d.Warning != "" {
			t.progress.state(d)
		}
	case bench.ReadingData:
		if !t.quiet {
			t.progress.reading(d)
		}
	case bench.EstimateData:
		if !t.quiet {
			t.progress.estimate(d)
		}
		t.remind(d.Held)
	}
}

func (t *talk) finish(s gauge.Stats) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.progress.finish()
	t.progress.tally(s)
}
