package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
)

type checkCmd struct {
	File   string `arg:"" optional:"" placeholder:"FILE" help:"Ledger to audit; also told by --ledger, the usual one when not given."`
	Ledger string `placeholder:"FILE" help:"Ledger to audit."`
	JSON   bool   `name:"json" help:"Print one JSON object."`
}

// Help shows an example.
func (checkCmd) Help() string {
	return `Example:
  boretight check shop.boretight

Walks every record and every block of readings and compares all hashes. It changes
nothing. Exit status: 0 sound, 3 damaged, 1 cannot be read.`
}

func (c *checkCmd) run(ctx context.Context, a app) (status, error) {
	if c.File != "" && a.given("ledger") {
		return usage, &usageError{err: fmt.Errorf("ledgers %s and %s: audit one at a time", c.File, c.Ledger)}
	}
	file := cmp.Or(c.File, c.Ledger)
	store, err := openForReading(ctx, file)
	if err != nil {
		return failed, err
	}
	report, err := store.Check(ctx)
	if err = errors.Join(err, store.Close()); err != nil {
		return failed, err
	}
	result := done
	if !report.OK {
		result = notTight
	}
	if c.JSON {
		return result, printJSON(a.out, report)
	}
	word := "sound"
	if !report.OK {
		word = "DAMAGED"
	}
	fmt.Fprintf(a.out, "%s: %s\n  %d records, %d holds, %d of them interrupted\n", ledgerPath(file), word, report.Records, report.Holds, report.Interrupted)
	if report.FirstFault != nil {
		fmt.Fprintf(a.out, "  first fault: %s\n", *report.FirstFault)
	}
	return result, nil
}
