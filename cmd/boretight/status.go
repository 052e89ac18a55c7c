package main

import (
	"errors"

	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// status is what the program exits with.
type status int

const (
	done      status = 0 // pass, or no limit was asked
	failed    status = 1 // an error
	usage     status = 2 // a wrong command line
	notTight  status = 3 // fail, or a damaged ledger
	undecided status = 4 // inconclusive, or no leakage rate
)

// severity is the order in which several holds are summed up, worst first: 1, 3, 4, 0.
func (s status) severity() int {
	switch s {
	case failed, usage:
		return 3
	case notTight:
		return 2
	case undecided:
		return 1
	}
	return 0
}

// worse returns the worse of two.
func (s status) worse(other status) status {
	if other.severity() > s.severity() {
		return other
	}
	return s
}

// statusOf returns the status that a hold's outcome or a trial's result stands for.
func statusOf(v trial.Verdict, rate *trial.LeakRate) status {
	switch {
	case rate == nil:
		return undecided
	case v == trial.Fail:
		return notTight
	case v == trial.Inconclusive:
		return undecided
	}
	return done
}

// usageError is returned when the command line itself is wrong.
type usageError struct {
	err  error
	hint string
}

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

// hintedError is an error with what to do about it.
type hintedError struct {
	err  error
	hint string
}

func (e *hintedError) Error() string { return e.err.Error() }
func (e *hintedError) Unwrap() error { return e.err }

// hintFor returns what to do next about an error; empty if that is in its text, or
// not known.
func hintFor(err error) string {
	if e, ok := errors.AsType[*usageError](err); ok && e.hint != "" {
		return e.hint
	}
	if e, ok := errors.AsType[*hintedError](err); ok {
		return e.hint
	}
	for _, h := range ledgerHints {
		if errors.Is(err, h.err) {
			return h.hint
		}
	}
	return ""
}

var ledgerHints = []struct {
	err  error
	hint string
}{
	{ledger.ErrNewer, "install the program's newer version, or choose another ledger with --ledger"},
	{ledger.ErrNotLedger, "choose another file with --ledger; a new one is made where there is none"},
	{ledger.ErrReadOnly, "choose a ledger in a folder that you may write to with --ledger"},
	{ledger.ErrLocked, "close the program that has it open, or choose another ledger with --ledger"},
	{ledger.ErrNoSpace, "make room on the disk, or choose a ledger on another one with --ledger"},
	{ledger.ErrDamaged, "keep the file as it is, and go on with a copy or with another ledger"},
	{ledger.ErrNotFound, "boretight check says what the ledger holds"},
}
