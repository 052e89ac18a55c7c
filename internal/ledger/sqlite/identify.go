package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"boretight/internal/ledger"
)

const applicationID = 0x42544c47 // "BTLG", as in the first migration

// absent is the version of a ledger that is not there yet.
const absent = -1

// identify returns the schema's version of the file at path, absent if there is
// nothing or an empty file; 0 is a ledger whose making was interrupted.
//
// It leaves the reading to SQLite: to open and close the file here would drop, on
// Unix, the locks of every other connection that this process has to it.
func identify(ctx context.Context, path string) (int64, error) {
	switch info, err := os.Stat(path); {
	case errors.Is(err, fs.ErrNotExist):
		return absent, nil
	case err != nil:
		return 0, err
	case info.IsDir():
		return 0, fmt.Errorf("%w: it is a folder (name a file in it)", ledger.ErrNotLedger)
	case !info.Mode().IsRegular():
		return 0, fmt.Errorf("%w: it is not a regular file", ledger.ErrNotLedger)
	case info.Size() == 0:
		return absent, nil
	}
	read, err := openRead(path, !hasJournal(path))
	if err != nil {
		return 0, err
	}
	defer read.Close()
	v, err := version(ctx, read)
	if e, ok := errors.AsType[*driver.Error](err); ok && e.Code() == lib.SQLITE_NOTADB {
		return 0, fmt.Errorf("%w: it is a file of another kind (name another file)", ledger.ErrNotLedger)
	}
	return v, err
}

// version returns the schema's version of an open file.
func version(ctx context.Context, db *sql.DB) (int64, error) {
	var id, v int64
	err := errors.Join(
		db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id),
		db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&v))
	if err != nil {
		return 0, classify(err)
	}
	if id != applicationID {
		return 0, fmt.Errorf("%w: it is an SQLite file of another program (name another file)", ledger.ErrNotLedger)
	}
	return v, nil
}

// hasJournal tells whether part of what the file holds is in a journal beside it.
func hasJournal(path string) bool {
	for _, suffix := range []string{"-wal", "-journal"} {
		if info, err := os.Stat(path + suffix); err == nil && info.Size() > 0 {
			return true
		}
	}
	return false
}

// canWrite looks at the permissions of the file and its folder. SQLite would open
// a file that it cannot write and say so only later.
func canWrite(path string) error {
	if info, err := os.Stat(path); err == nil && info.Mode().Perm()&0o222 == 0 {
		return fmt.Errorf("%w: the file's permissions forbid writing (change them or name another file)", ledger.ErrReadOnly)
	}
	folder := filepath.Dir(path)
	switch info, err := os.Stat(folder); {
	case err != nil:
		return fmt.Errorf("folder of the ledger: %w (make it first)", err)
	case info.Mode().Perm()&0o222 == 0:
		return fmt.Errorf("%w: the permissions of its folder %s forbid writing", ledger.ErrReadOnly, folder)
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o644)
	switch {
	case errors.Is(err, fs.ErrExist):
		return nil
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%w: %w", ledger.ErrReadOnly, err)
	case err != nil:
		return err
	}
	return f.Close()
}
