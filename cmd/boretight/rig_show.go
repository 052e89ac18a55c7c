package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"boretight/internal/air"
	"boretight/internal/rig"
)

type rigShowCmd struct {
	Ledger string `group:"bench" placeholder:"FILE" help:"Ledger to read; the usual one when not given."`
	All    bool   `help:"Show also what something newer has taken the place of."`
	JSON   bool   `name:"json" help:"Print one JSON object a record, one a line."`
}

// Help shows an example.
func (rigShowCmd) Help() string {
	return `Example:
  boretight rig show

Prints what is known of each gauge, rig and joint, from when until when it counts and
whether it still does. It reads the ledger and changes nothing.`
}

// standing is a record with how it stands.
type standing struct {
	rigLine
	State rig.State `json:"state"`
	Says  string    `json:"says,omitempty"`
}

// superseded is the state of a record that a newer one has taken the place of.
const superseded rig.State = "superseded"

func (c *rigShowCmd) run(ctx context.Context, a app) (status, error) {
	store, err := openForReading(ctx, c.Ledger)
	if err != nil {
		return failed, err
	}
	records, err := rigRecords(ctx, store)
	if err = errors.Join(err, store.Close()); err != nil {
		return failed, err
	}
	if len(records) == 0 && !c.JSON {
		_, err := fmt.Fprintln(a.out, "nothing is known of a rig yet: see boretight rig --help")
		return done, err
	}
	now := time.Now()
	for _, r := range records {
		s := standing{rigLine{schemaRig, r}, superseded, ""}
		if held := heldOf(r, records, now); held.Record != nil && held.Record.ID == r.ID {
			s.State, s.Says = held.State, held.Says
		}
		if s.State == superseded && !c.All {
			continue
		}
		if err := c.show(a, s); err != nil {
			return failed, err
		}
	}
	return done, nil
}

func (c *rigShowCmd) show(a app, s standing) error {
	if c.JSON {
		return printJSON(a.out, s)
	}
	says := string(s.State)
	if s.State == rig.Holds {
		says = "counts" // there is a command holds
	}
	if s.Says != "" {
		says += ": " + s.Says
	}
	if _, err := fmt.Fprintf(a.out, "[%s]\n", says); err != nil {
		return err
	}
	return printRig(a.out, s.Record)
}

// heldOf returns how the newest record stands that is of the same thing as r: the same
// rig, joint or gauge, sign and kind.
func heldOf(r rig.Record, records []rig.Record, now time.Time) rig.Held {
	subject := rig.Subject{Rig: r.Rig, Joint: r.Joint}
	if r.Blank != nil {
		subject.Sign = r.Blank.Sign
	}
	var same []rig.Record
	for _, other := range records {
		alike := other.Kind == r.Kind && other.Joint == r.Joint && signOf(other) == signOf(r) &&
			(r.Kind == rig.KindVolume || other.Leak == r.Leak) // a volume is one, however it was found
		lifts := r.Kind == rig.KindCheck && other.Kind == rig.KindProof
		if (alike || lifts) && len(other.Rig.Changed(r.Rig)) == 0 {
			same = append(same, other)
		}
	}
	s := rig.NewStanding(now, subject, same...)
	for _, held := range []rig.Held{s.Calibration, s.Volume, s.Blank, s.Check, s.Proof} {
		if held.Record != nil {
			return held
		}
	}
	return rig.Held{}
}

// signOf is the sign of a blank, 0 of all else.
func signOf(r rig.Record) air.Sign {
	if r.Blank == nil {
		return 0
	}
	return r.Blank.Sign
}
