package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
)

type ledgerReplaceCmd struct {
	File   string `arg:"" help:"Copy of a ledger that shall take the ledger's place; it stays as it is."`
	Ledger string `placeholder:"FILE" help:"Ledger to replace; the usual one when not given."`
	JSON   bool   `name:"json" help:"Print one JSON object."`
}

// Help shows an example.
func (ledgerReplaceCmd) Help() string {
	return `Example:
  boretight ledger replace /media/stick/shop-2026-11-25.boretight

Stop boretight serve first. The file is audited before anything is touched. The ledger
that was there is kept beside it under a dated name. What is recorded from then on
starts a new chain that names where the copy ended. Texts that were erased after the
copy was made are in it again: erase them once more.

Exit status: 0 replaced, 3 the file is damaged, 1 any other reason not to.`
}

// replaced is the JSON of a ledger that was replaced.
type replaced struct {
	Schema  string `json:"schema"` // boretight/ledger-replace/1
	Ledger  string `json:"ledger"`
	File    string `json:"file"`
	Kept    string `json:"kept,omitempty"`
	Records int64  `json:"records"`
	Holds   int64  `json:"holds"`
}

func (c *ledgerReplaceCmd) run(ctx context.Context, a app) (status, error) {
	path := ledgerPath(c.Ledger)
	if c.Ledger == "" {
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return failed, fmt.Errorf("make the data folder: %w", err)
		}
	}
	r, err := sqlite.Replace(ctx, path, c.File, time.Now())
	if err != nil {
		return replaceFailure(err)
	}
	if c.JSON {
		return done, printJSON(a.out, replaced{
			Schema: "boretight/ledger-replace/1", Ledger: absolute(path), File: absolute(c.File), Kept: r.Kept,
			Records: r.Report.Records, Holds: r.Report.Holds,
		})
	}
	fmt.Fprintf(a.out, "%s: now a copy of %s\n  %d records, %d holds\n", path, c.File, r.Report.Records, r.Report.Holds)
	if r.Kept != "" {
		fmt.Fprintf(a.out, "  the ledger that was there: %s\n", r.Kept)
	}
	return done, nil
}

// replaceFailure says what to do about a ledger that was not replaced.
func replaceFailure(err error) (status, error) {
	switch {
	case errors.Is(err, ledger.ErrLocked):
		return failed, &hintedError{err, "stop boretight serve and whatever else has the ledger open, then try again"}
	case errors.Is(err, ledger.ErrDamaged):
		return notTight, &hintedError{err, "choose another copy, such as an older one; the ledger was left as it was"}
	case errors.Is(err, ledger.ErrNewer):
		return failed, &hintedError{err, "install the program's newer version; the ledger was left as it was"}
	case errors.Is(err, ledger.ErrNotLedger), errors.Is(err, os.ErrNotExist):
		return failed, &hintedError{err, "give the path of a file that boretight ledger copy or serve --copies has made"}
	}
	return failed, err
}
