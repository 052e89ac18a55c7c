// Package sqlite keeps a ledger in one SQLite file.
//
// # File
//
// The file is in WAL mode and every commit is on the disk when it returns
// (synchronous=FULL). While it is open there are two more files beside it, -wal and
// -shm; [DB.Close] folds them in. Application id 0x42544c47 ("BTLG") tells it from
// other SQLite files, user_version is the number of its schema.
//
// # Reading without a trace
//
// [OpenReadOnly] never writes to the ledger or its journal. Without a journal the
// file is read as unchanging, so that nothing appears beside it, not even in a
// folder that cannot be written; should a writer start meanwhile, [DB.Check] looks
// again. With a journal beside it the file is read through it; where the folder
// does not allow that, from a copy among the temporary files.
//
// # Copies
//
// The ledger remembers the file it lives in: the number and birth time that the
// file system gave it, see place. Opened for writing in another file, it starts a
// new chain. That tells every copy made by a file manager, cp to a new name, a
// restored backup, a move to another disk (harmless), and every file made by
// [DB.Copy] wherever it ends up. It does not tell a backup that was written into
// the existing file (cp over it) or a disk that went back as a whole, as with the
// snapshot of a virtual machine; there a reader who knows both branches finds
// different records of one number in one chain. [Replace] puts a copy in a ledger's
// place without that doubt, and while nobody has the ledger open.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"os"

	"boretight/internal/ledger"
)

// Options are what Open may be given; the zero value will do.
type Options struct {
	// Log is for what an operator would act on; nil discards.
	Log *slog.Logger
}

// DB is an open ledger. Its methods may be called from any goroutine.
type DB struct {
	path  string // absolute
	write *sql.DB
	read  *sql.DB
	// aside is a folder with a copy that is read in place of path; mostly empty.
	aside string
	// still is the file as it was when it was opened as unchanging, else nil.
	still os.FileInfo
	log   *slog.Logger
}

var _ ledger.Store = (*DB)(nil)

// Open opens a ledger for writing, or makes a new one. An older one is copied to
// PATH.before-vN and migrated. Errors wrap those of package ledger.
func Open(ctx context.Context, path string, o Options) (*DB, error) {
	return open(ctx, path, o, migrations())
}

// OpenReadOnly opens a ledger that is there, for reading; see the package comment.
func OpenReadOnly(ctx context.Context, path string) (*DB, error) {
	return openReadOnly(ctx, path, migrations())
}

// Path returns the absolute path of the file.
func (db *DB) Path() string { return db.path }

// Close folds in the journal, so that only the ledger's file remains, unless
// another program has it open as well.
func (db *DB) Close() error {
	errs := []error{db.read.Close()}
	if db.write != nil {
		// The checkpoint's own result may be "busy": another program will fold it in.
		_, err := db.write.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
		errs = append(errs, classify(err), db.write.Close())
	}
	if db.aside != "" {
		errs = append(errs, os.RemoveAll(db.aside))
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("close ledger %s: %w", db.path, err)
	}
	return nil
}

// writable returns an error for a ledger opened for reading.
func (db *DB) writable() error {
	if db.write == nil {
		return fmt.Errorf("ledger %s was opened for reading: %w", db.path, ledger.ErrReadOnly)
	}
	return nil
}
