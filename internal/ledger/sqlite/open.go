package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"

	"boretight/internal/ledger"
)

func open(ctx context.Context, path string, o Options, m fs.FS) (_ *DB, err error) {
	defer wrap(&err, "open", path)
	db := &DB{log: o.Log}
	if db.log == nil {
		db.log = slog.New(slog.DiscardHandler)
	}
	if db.path, err = filepath.Abs(path); err != nil {
		return nil, err
	}
	v, err := identify(ctx, db.path)
	if err != nil {
		return nil, err
	}
	if err := canWrite(db.path); err != nil {
		return nil, err
	}
	named, err := os.Stat(db.path)
	if err != nil {
		return nil, err
	}
	if db.write, err = openWrite(db.path); err != nil {
		return nil, err
	}
	if db.read, err = openRead(db.path, false); err != nil {
		return nil, errors.Join(err, db.write.Close())
	}
	if err := db.prepare(ctx, named, v, m); err != nil {
		return nil, errors.Join(classify(err), db.Close())
	}
	return db, nil
}

// prepare brings the file to the newest schema and makes sure that its chain is
// this copy's own. named is what had the ledger's name before it was opened.
func (db *DB) prepare(ctx context.Context, named os.FileInfo, version int64, m fs.FS) error {
	// SQLite opens a file that it cannot write without a word; the lock says so.
	tx, err := db.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := tx.Rollback(); err != nil {
		return err
	}
	// It may have been put aside by Replace while we waited for the lock.
	if now, err := os.Stat(db.path); err != nil || !os.SameFile(named, now) {
		return fmt.Errorf("%w: it was replaced just now (try again)", ledger.ErrLocked)
	}
	if err := db.migrate(ctx, version, m); err != nil {
		return err
	}
	var mode string
	if err := db.write.QueryRowContext(ctx, "PRAGMA journal_mode = WAL").Scan(&mode); err != nil {
		return err
	}
	if mode != "wal" {
		return fmt.Errorf("the file system does not allow a write-ahead journal (mode %s): keep the ledger on a local disk", mode)
	}
	return db.settle(ctx)
}

func openReadOnly(ctx context.Context, path string, m fs.FS) (_ *DB, err error) {
	defer wrap(&err, "open", path)
	db := &DB{log: slog.New(slog.DiscardHandler)}
	if db.path, err = filepath.Abs(path); err != nil {
		return nil, err
	}
	v, err := identify(ctx, db.path)
	if errors.Is(err, ledger.ErrNotLedger) {
		return nil, err
	}
	if err != nil && hasJournal(db.path) {
		// The journal cannot be read in place when the folder forbids the index
		// that SQLite keeps beside it.
		if v, err = db.stepAside(ctx); err != nil {
			return nil, err
		}
	}
	if err != nil {
		return nil, err
	}
	if err := supported(v, m); err != nil {
		return nil, errors.Join(err, os.RemoveAll(db.aside))
	}
	return db, db.openRead()
}

// openRead opens the pool of readers in the way that leaves no trace.
func (db *DB) openRead() (err error) {
	source, unchanging := db.path, !hasJournal(db.path)
	if db.aside != "" {
		source, unchanging = filepath.Join(db.aside, filepath.Base(db.path)), false
	}
	db.still = nil
	if unchanging {
		if db.still, err = os.Stat(source); err != nil {
			return err
		}
	}
	db.read, err = openRead(source, unchanging)
	return err
}

// stepAside copies file and journal to a temporary folder.
func (db *DB) stepAside(ctx context.Context) (int64, error) {
	var err error
	if db.aside, err = os.MkdirTemp("", "boretight-"); err != nil {
		return 0, err
	}
	copied := filepath.Join(db.aside, filepath.Base(db.path))
	v := int64(0)
	err = errors.Join(copyFile(copied, db.path), copyFile(copied+"-wal", db.path+"-wal"))
	if err == nil {
		v, err = identify(ctx, copied)
	}
	if err != nil {
		return 0, errors.Join(err, os.RemoveAll(db.aside))
	}
	return v, nil
}

func copyFile(dst, src string) error {
	in, err := os.Open(src)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(dst, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// wrap says what was being done, to which ledger.
func wrap(err *error, doing, path string) {
	if *err != nil {
		*err = fmt.Errorf("%s ledger %s: %w", doing, path, *err)
	}
}
