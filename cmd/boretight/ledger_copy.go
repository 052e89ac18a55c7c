package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"boretight/internal/ledger"
)

type ledgerCopyCmd struct {
	File   string `arg:"" help:"File to write, which must not exist yet."`
	Ledger string `placeholder:"FILE" help:"Ledger to copy; the usual one when not given."`
	JSON   bool   `name:"json" help:"Print one JSON object."`
}

// Help shows an example.
func (ledgerCopyCmd) Help() string {
	return `Example:
  boretight ledger copy /media/stick/shop-2026-11-25.boretight

One file with everything, audited before it gets its name; boretight serve may go on
recording meanwhile. What is recorded into the copy later starts a new chain there. A
copy a day is made by boretight serve --copies FOLDER.`
}

// copied is the JSON of a copy that was made.
type copied struct {
	Schema      string `json:"schema"` // boretight/ledger-copy/1
	Ledger      string `json:"ledger"`
	File        string `json:"file"`
	Bytes       int64  `json:"bytes"`
	Records     int64  `json:"records"`
	Holds       int64  `json:"holds"`
	Interrupted int64  `json:"interrupted"`
}

func (c *ledgerCopyCmd) run(ctx context.Context, a app) (status, error) {
	store, err := openForReading(ctx, c.Ledger)
	if err != nil {
		return failed, err
	}
	report, err := store.CopyAudited(ctx, c.File)
	if err = errors.Join(err, store.Close()); err != nil {
		return copyFailure(err)
	}
	info, err := os.Stat(c.File)
	if err != nil {
		return failed, fmt.Errorf("look at the copy: %w", err)
	}
	if c.JSON {
		return done, printJSON(a.out, copied{
			Schema: "boretight/ledger-copy/1", Ledger: store.Path(), File: absolute(c.File), Bytes: info.Size(),
			Records: report.Records, Holds: report.Holds, Interrupted: report.Interrupted,
		})
	}
	_, err = fmt.Fprintf(a.out, "%s: a sound copy of %s\n  %d records, %d holds\n", c.File, store.Path(), report.Records, report.Holds)
	return done, err
}

// copyFailure says what to do about a copy that was not made.
func copyFailure(err error) (status, error) {
	switch {
	case errors.Is(err, fs.ErrExist):
		return failed, &hintedError{err, "name a file that does not exist yet: nothing is ever overwritten"}
	case errors.Is(err, ledger.ErrDamaged):
		return notTight, &hintedError{err, "an older copy can be put in its place with boretight ledger replace; to keep the file as it is, stop the program and copy the file itself"}
	case errors.Is(err, ledger.ErrNoSpace):
		return failed, &hintedError{err, "make room on the disk, or write the copy to another one"}
	case errors.Is(err, fs.ErrNotExist):
		return failed, &hintedError{err, "make the folder, or plug its disk in"}
	}
	return failed, err
}

// absolute names a file from everywhere, where the system can tell.
func absolute(path string) string {
	if a, err := filepath.Abs(path); err == nil {
		return a
	}
	return path
}
