package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"boretight/internal/ledger"
)

// Copy implements [ledger.Store]: one consistent file, also while holds are being
// written. The copy knows that it is one and will start a chain of its own, wherever
// it is put. It appears under its name only when it is complete, sound and on the
// disk; a ledger that is damaged gives no copy, and an error that wraps
// [ledger.ErrDamaged].
func (db *DB) Copy(ctx context.Context, dst string) error {
	_, err := db.CopyAudited(ctx, dst)
	return err
}

// CopyAudited is [DB.Copy], and returns what the audit of the copy found. A hold that
// is being measured is counted as interrupted: nobody will end it in the copy.
func (db *DB) CopyAudited(ctx context.Context, dst string) (ledger.Report, error) {
	r, err := db.copyAudited(ctx, dst)
	if err != nil {
		return ledger.Report{}, fmt.Errorf("copy ledger %s to %s: %w", db.path, dst, classify(err))
	}
	return r, nil
}

func (db *DB) copyAudited(ctx context.Context, dst string) (ledger.Report, error) {
	var r ledger.Report
	accept := func(part string) (err error) {
		r, err = audited(ctx, part)
		return err
	}
	err := db.vacuumInto(ctx, dst, accept)
	if errors.Is(err, errMoved) {
		// A writer came while the file was read as unchanging: again, with its journal.
		if err = errors.Join(db.read.Close(), db.openRead()); err == nil {
			err = db.vacuumInto(ctx, dst, accept)
		}
	}
	return r, err
}

// Line names the ledger and all that were ever copied from it: the first chain's id.
func (db *DB) Line(ctx context.Context) (string, error) {
	var id string
	err := db.read.QueryRowContext(ctx, "SELECT id FROM chains WHERE ordinal = 1").Scan(&id)
	if err != nil {
		return "", fmt.Errorf("read first chain of ledger %s: %w", db.path, classify(err))
	}
	return id, nil
}

var errMoved = errors.New("the ledger was written to by a program that has just started (try again)")

// vacuumInto writes a copy that has the name dst only after accept, if there is one,
// has agreed to it.
func (db *DB) vacuumInto(ctx context.Context, dst string, accept func(part string) error) error {
	dst, err := filepath.Abs(dst) // as the names of SQLite are
	if err != nil {
		return err
	}
	if _, err := os.Lstat(dst); err == nil {
		return fs.ErrExist
	}
	f, err := os.CreateTemp(filepath.Dir(dst), filepath.Base(dst)+".part-*")
	if err != nil {
		return err
	}
	part := f.Name()
	defer os.Remove(part) // gone when all went well
	defer os.Remove(part + "-journal")
	if err := f.Close(); err != nil {
		return err
	}
	// VACUUM INTO takes an empty file that exists.
	if _, err := db.read.ExecContext(ctx, "VACUUM INTO $1", part); err != nil {
		return err
	}
	if db.moved() {
		return errMoved
	}
	if err := forgetPlace(ctx, part); err != nil {
		return err
	}
	if accept != nil {
		if err := accept(part); err != nil {
			return err
		}
	}
	return publish(part, dst)
}

// audited returns what an audit of the file at path found, and an error if that is a
// fault.
func audited(ctx context.Context, path string) (ledger.Report, error) {
	db, err := OpenReadOnly(ctx, path)
	if err != nil {
		return ledger.Report{}, err
	}
	r, err := db.check(ctx)
	switch err = errors.Join(err, db.Close()); {
	case err != nil:
		return r, err
	case !r.OK:
		return r, fmt.Errorf("%w: %s", ledger.ErrDamaged, *r.FirstFault)
	}
	return r, nil
}

// forgetPlace makes a copy know that it is one.
func forgetPlace(ctx context.Context, path string) error {
	db, err := openWrite(path)
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "UPDATE ledger SET place = ''")
	return errors.Join(err, db.Close())
}

// publish makes a complete file durable and gives it its name, which nothing else
// may have.
func publish(part, dst string) error {
	f, err := os.OpenFile(part, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := appear(part, dst); err != nil {
		return err
	}
	syncFolder(filepath.Dir(dst))
	return nil
}

// appear gives the file at part the name dst. A link refuses a name that has been
// taken meanwhile; where there are no links, as on memory sticks, a look before the
// renaming must do.
func appear(part, dst string) error {
	switch err := os.Link(part, dst); {
	case err == nil:
		return os.Remove(part)
	case errors.Is(err, fs.ErrExist):
		return fs.ErrExist
	}
	if _, err := os.Lstat(dst); err == nil {
		return fs.ErrExist
	}
	return os.Rename(part, dst)
}

// syncFolder makes a new name durable where folders can be synced; Windows has no
// such call, and a file system that refuses has done what it can.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}
