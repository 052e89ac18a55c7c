package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
)

// hold is what the child said of one hold before it died.
type hold struct {
	rate         int // in Hz
	pushed       int
	acknowledged bool
}

// result is one line of the table.
type result struct {
	after       time.Duration // of the kill, from the first reading on
	holds       int
	interrupted int64
	pushed      int
	kept        int
	// missing is the longest stretch that a gauge lost at its end.
	missing time.Duration
	// ended is how long the next writer took to end the interrupted holds.
	ended time.Duration
}

// round runs a child on the ledger at path, kills it and looks at what is left.
func round(ctx context.Context, self []string, path string, after time.Duration) (result, error) {
	said, err := runAndKill(ctx, self, path, after)
	if err != nil {
		return result{}, err
	}
	r := result{after: after, holds: len(said)}
	if err := check(ctx, path); err != nil {
		return r, fmt.Errorf("after the kill: %w", err)
	}
	db, err := sqlite.Open(ctx, path, sqlite.Options{})
	if err != nil {
		return r, err
	}
	err = errors.Join(r.repair(ctx, db), r.compare(ctx, db, said), db.Close())
	if err == nil {
		err = check(ctx, path)
	}
	return r, err
}

// runAndKill starts a child, kills it some time after its first words and returns
// what it said.
func runAndKill(ctx context.Context, self []string, path string, after time.Duration) (map[string]hold, error) {
	cmd := exec.CommandContext(ctx, self[0], append(self[1:], path)...)
	cmd.Env = append(os.Environ(), childVariable+"=1")
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	lines := bufio.NewReader(out)
	first, err := lines.ReadString('\n')
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the child said nothing: %w", err), cmd.Wait())
	}
	kill := time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
	defer kill.Stop()
	said, err := listen(io.MultiReader(strings.NewReader(first), lines))
	if exit := cmd.Wait(); exit == nil {
		err = errors.Join(err, errors.New("the child ended before it was killed"))
	}
	return said, err
}

// listen reads what the child says, to its end.
func listen(r io.Reader) (map[string]hold, error) {
	said := make(map[string]hold)
	s := bufio.NewScanner(r)
	for s.Scan() {
		what, id, h, err := parse(s.Text())
		switch {
		case what == "error":
			return said, errors.New("child: " + s.Text())
		case err != nil:
			continue // the line that the kill cut
		}
		h.acknowledged = said[id].acknowledged || what == "acknowledged"
		said[id] = h
	}
	return said, s.Err()
}

// parse reads one line of the child.
func parse(line string) (what, id string, h hold, err error) {
	what, _, _ = strings.Cut(line, " ")
	_, err = fmt.Sscan(line, &what, &id, &h.rate, &h.pushed)
	return what, id, h, err
}

// check audits the ledger as the check command does.
func check(ctx context.Context, path string) error {
	db, err := sqlite.OpenReadOnly(ctx, path)
	if err != nil {
		return err
	}
	defer db.Close()
	report, err := db.Check(ctx)
	if err == nil && !report.OK {
		err = fmt.Errorf("the ledger is not sound: %s", *report.FirstFault)
	}
	return err
}

// repair runs the next writer until it has ended the interrupted holds.
func (r *result) repair(ctx context.Context, db *sqlite.DB) error {
	start := time.Now()
	ctx, cancel := context.WithTimeout(ctx, 10*ledger.Lease)
	defer cancel()
	run, stop := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- ledger.NewWriter(db, ledger.WriterOptions{}).Run(run) }()
	err := waitEnded(ctx, db)
	r.ended = time.Since(start)
	stop()
	return errors.Join(err, <-done)
}

func waitEnded(ctx context.Context, db *sqlite.DB) error {
	poll := time.NewTicker(20 * time.Millisecond)
	defer poll.Stop()
	for {
		open, err := db.Abandoned(ctx, "")
		if err != nil || len(open) == 0 {
			return err
		}
		select {
		case <-poll.C:
		case <-ctx.Done():
			return fmt.Errorf("%d holds are still open: %w", len(open), ctx.Err())
		}
	}
}

// compare looks at each hold that the child spoke of.
func (r *result) compare(ctx context.Context, db *sqlite.DB, said map[string]hold) error {
	var errs []error
	for id, s := range said {
		r.pushed += s.pushed
		h, err := db.Hold(ctx, id)
		if errors.Is(err, ledger.ErrNotFound) && !s.acknowledged {
			h = &ledger.Hold{} // killed before its first commit
		} else if err != nil {
			errs = append(errs, err)
			continue
		}
		errs = append(errs, r.one(id, s, h))
	}
	return errors.Join(errs...)
}

// one compares one hold.
func (r *result) one(id string, s hold, h *ledger.Hold) error {
	kept := h.Trace.Readings
	r.kept += len(kept)
	for i, got := range kept {
		if got != reading(i, s.rate) {
			return fmt.Errorf("hold %s: reading %d is not the one handed over", id, i)
		}
	}
	missing := time.Duration(max(0, s.pushed-len(kept))) * time.Second / time.Duration(s.rate)
	r.missing = max(r.missing, missing)
	interrupted := h.End != nil && h.End.Interrupted
	if interrupted {
		r.interrupted++
	}
	switch {
	case s.acknowledged && (missing > 0 || interrupted):
		return fmt.Errorf("hold %s was acknowledged with %d readings, %d are kept (interrupted %t)", id, s.pushed, len(kept), interrupted)
	case h.End == nil && len(kept) > 0:
		return fmt.Errorf("hold %s has no end", id)
	case missing > time.Second:
		return fmt.Errorf("hold %s: the last %v are missing, at most a second may be", id, missing)
	}
	return nil
}
