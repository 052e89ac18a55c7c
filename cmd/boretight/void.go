package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/trial"
)

type voidCmd struct {
	Hold   string `arg:"" placeholder:"HOLD" help:"The hold's identity, as hold and the page print it; its begin is enough, and last is the newest."`
	Reason string `required:"" placeholder:"TEXT" help:"Why it does not count, in a few words."`
	Ledger string `placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	JSON   bool   `name:"json" help:"Print one JSON object."`
}

// Help shows an example.
func (voidCmd) Help() string {
	return `Example:
  boretight void last --reason "a finger slipped"

The hold stays in the ledger with its readings and is marked; it counts no more. Its trial
is judged again without it, by the limit of then. That cannot be taken back: hold again.`
}

const schemaVoid = "boretight/void/1"

// voidLine is a hold that was set aside, as it is printed.
type voidLine struct {
	Schema string    `json:"schema"`
	Hold   string    `json:"hold"`
	Reason string    `json:"reason"`
	At     time.Time `json:"at"`
	// Trials are those that had the hold, as they count now.
	Trials []trial.Trial `json:"trials"`
	// RigRecords rest on the hold and count on.
	RigRecords []string `json:"rig_records,omitempty"`
}

func (c *voidCmd) run(ctx context.Context, a app) (result status, err error) {
	if _, err := reasonToVoid(c.Reason); err != nil {
		return usage, &usageError{err: fmt.Errorf("--reason: %w", err)}
	}
	id, err := c.named(ctx)
	if err != nil {
		return failed, err
	}
	store, err := sqlite.Open(ctx, ledgerPath(c.Ledger), sqlite.Options{})
	if err != nil {
		return failed, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	trials, err := voidHold(ctx, store, id, c.Reason)
	if err != nil {
		return failed, err
	}
	now, err := recordsOf(ctx, store, id)
	if err != nil {
		return failed, err
	}
	if c.JSON {
		return done, printJSON(a.out, lineOfVoid(now, trials))
	}
	return done, printVoid(a.out, now, trials)
}

// named finds the hold in a ledger that is there: to open one for recording would make it.
func (c *voidCmd) named(ctx context.Context) (id string, err error) {
	store, err := openForReading(ctx, c.Ledger)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	id, err = holdNamed(ctx, store, c.Hold)
	if c.Hold == lastHold && errors.Is(err, ledger.ErrNotFound) {
		return "", fmt.Errorf("set the last hold aside: there is no hold in ledger %s", ledgerPath(c.Ledger))
	}
	if errors.Is(err, ledger.ErrNotFound) || errors.Is(err, ledger.ErrAmbiguous) {
		err = &hintedError{err: fmt.Errorf("set hold %s aside: %w", c.Hold, err), hint: "boretight holds lists holds with their identities"}
	}
	return id, err
}

// errVoided and errHolding are why a hold cannot be set aside.
var (
	errVoided  = errors.New("it was set aside before")
	errHolding = errors.New("it is still being measured: wait until it ends")
)

// errUnjudged is returned when a hold is set aside and its trial was not recorded without it.
var errUnjudged = errors.New("its trial was not recorded anew")

// longestReason in bytes is what fits on a slip, in a list and in a person's patience.
const longestReason = 500

// reasonToVoid returns a reason in one line, or says why it is none.
func reasonToVoid(text string) (string, error) {
	text = strings.Join(strings.Fields(text), " ")
	switch {
	case text == "":
		return "", errors.New("it is empty: say why the hold does not count")
	case !utf8.ValidString(text):
		return "", errors.New("it is no text in UTF-8")
	case len(text) > longestReason:
		return "", fmt.Errorf("it has %d bytes, and at most %d are kept: say it in fewer words", len(text), longestReason)
	}
	return text, nil
}

// voidHold sets a hold aside and judges the trials again that had it. It returns them as
// they are now, for a hold that belongs to none an empty list. [errVoided], [errHolding] and
// [ledger.ErrNotFound] say why it cannot be done. The hold is set aside first: should a trial
// then not be recorded, which [errUnjudged] says, lists leave the hold out all the same, as they
// look what was set aside.
func voidHold(ctx context.Context, store ledger.Store, id, reason string) ([]ledger.Trial, error) {
	reason, err := reasonToVoid(reason)
	if err != nil {
		return nil, fmt.Errorf("set hold %s aside: the reason: %w", id, err)
	}
	r, err := recordsOf(ctx, store, id)
	switch {
	case err != nil:
		return nil, fmt.Errorf("set hold aside: %w", err)
	case r.aside != nil:
		return nil, fmt.Errorf("set hold %s aside: %w, %s", id, errVoided, r.aside)
	case r.hold.End == nil:
		return nil, fmt.Errorf("set hold %s aside: %w", id, errHolding)
	}
	if _, err := store.Append(ctx, ledger.VoidDraft(id, reason)); err != nil {
		return nil, fmt.Errorf("set hold %s aside: %w", id, err)
	}
	trials := []ledger.Trial{}
	for _, of := range r.trials {
		t, has, err := judgeAgain(ctx, store, of, id)
		if err != nil {
			return trials, fmt.Errorf("hold %s is set aside, but %w: %w", id, errUnjudged, err)
		}
		if has {
			trials = append(trials, t)
		}
	}
	return trials, nil
}

// String says when and why, for people.
func (a *aside) String() string {
	when := "on " + a.At.Local().Format("2 Jan 2006 15:04")
	if a.Reason == "" {
		return when + " for a reason that was erased"
	}
	return when + ": " + a.Reason
}

func lineOfVoid(r holdRecords, trials []ledger.Trial) voidLine {
	line := voidLine{Schema: schemaVoid, Hold: r.hold.Begin.ID, Reason: r.aside.Reason, At: r.aside.At, Trials: []trial.Trial{}}
	for _, t := range trials {
		line.Trials = append(line.Trials, t.Result)
	}
	for _, one := range r.rig {
		if kept, err := decodeRig(one); err == nil {
			line.RigRecords = append(line.RigRecords, kept.ID)
		}
	}
	return line
}

// printVoid prints it for people.
func printVoid(w io.Writer, r holdRecords, trials []ledger.Trial) error {
	line := lineOfVoid(r, trials)
	var b strings.Builder
	fmt.Fprintf(&b, "hold %s is set aside: %s\n", line.Hold, line.Reason)
	if len(trials) == 0 {
		b.WriteString("  it belongs to no trial\n")
	}
	for _, t := range trials {
		result := "no leakage rate"
		if t.Result.SCCM != nil {
			result = withU(*t.Result.SCCM, "sccm")
		}
		words := slices.DeleteFunc([]string{strings.ToUpper(string(t.Result.Verdict)), result}, func(s string) bool { return s == "" })
		fmt.Fprintf(&b, "  trial %s, judged again by %s: %s\n", t.ID, holdsOf(t), strings.Join(words, ": "))
	}
	if len(line.RigRecords) > 0 {
		b.WriteString(wrapped("  note: ", "What the ledger knows of the rig from this hold counts on (record "+strings.Join(line.RigRecords, ", ")+"): measure that anew."))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// holdsOf counts the holds of a trial that count, and those that do not.
func holdsOf(t ledger.Trial) string {
	if aside := len(t.Holds) - t.Result.Holds; aside > 0 {
		return fmt.Sprintf("%d of %s", t.Result.Holds, counting(len(t.Holds), "hold"))
	}
	return counting(t.Result.Holds, "hold")
}
