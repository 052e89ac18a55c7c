package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"boretight/internal/ledger"
)

// Replaced is what [Replace] did.
type Replaced struct {
	// Report is of the audit of what is in the ledger's place now.
	Report ledger.Report
	// Kept is where the ledger that was there has gone; empty if there was none.
	Kept string
}

// keptTime dates the name of a ledger that was put aside, in a way that every file
// system takes.
const keptTime = "2006-01-02T150405Z"

// Replace puts a copy of the ledger in the file from in the place of the ledger at
// path. What was there is kept beside it as PATH.replaced-TIME; from stays as it is.
// The copy is made and audited before anything else is touched.
//
// Errors wrap [ledger.ErrDamaged] or [ledger.ErrNewer] when that is so of from, and
// [ledger.ErrLocked] when any program, this one too, has the ledger at path open.
// After an error the ledger at path is as it was; a power cut leaves either the one
// or the other there.
func Replace(ctx context.Context, path, from string, now time.Time) (r Replaced, err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("replace ledger %s by %s: %w", path, from, classify(err))
		}
	}()
	place, present, err := replaceable(ctx, path, from)
	if err != nil {
		return r, err
	}
	staged := place + ".new-" + ledger.NewID()
	defer os.Remove(staged) // gone when all went well
	if r.Report, err = stage(ctx, staged, from); err != nil {
		return r, err
	}
	if present == nil {
		return r, publish(staged, place)
	}
	if err := os.Chmod(staged, present.Mode().Perm()); err != nil {
		return r, err
	}
	release, err := seize(ctx, place)
	if err != nil {
		return r, err
	}
	r.Kept, err = swap(staged, place, place+".replaced-"+now.UTC().Format(keptTime))
	return r, errors.Join(err, release())
}

// replaceable looks at what is at path, nil if nothing is, and follows a link there.
func replaceable(ctx context.Context, path, from string) (string, os.FileInfo, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", nil, err
	}
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target
	}
	if _, err := os.Stat(filepath.Dir(path)); err != nil {
		return "", nil, fmt.Errorf("folder of the ledger: %w (make it first)", err)
	}
	present, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return path, nil, nil
	}
	if err != nil {
		return "", nil, err
	}
	if other, err := os.Stat(from); err == nil && os.SameFile(present, other) {
		return "", nil, errors.New("both are the same file (name the copy that shall take its place)")
	}
	if err := canWrite(path); err != nil {
		return "", nil, err
	}
	// A damaged one may go; a letter that somebody named by mistake may not.
	if _, err := identify(ctx, path); errors.Is(err, ledger.ErrNotLedger) {
		return "", nil, fmt.Errorf("what is in its place: %w; if it was one, move it away by hand", err)
	}
	return path, present, nil
}

// stage writes an audited copy of the ledger in the file from.
func stage(ctx context.Context, staged, from string) (ledger.Report, error) {
	src, err := OpenReadOnly(ctx, from)
	if err != nil {
		return ledger.Report{}, err
	}
	r, err := src.copyAudited(ctx, staged)
	return r, errors.Join(err, src.Close())
}

// seize folds the journal of the ledger at path in and keeps every other program out
// until release is called. It fails with [ledger.ErrLocked] while any other
// connection is open, an idle one too.
//
// Where a file that is open cannot be renamed, and where a damaged one cannot leave
// its write-ahead mode, the lock is given back at once. The first needs none: a
// program that came then would make the renaming fail. In the second, a program that
// starts within that moment finds a damaged ledger, and Open tells when it is not
// any more what has the name.
func seize(ctx context.Context, path string) (release func() error, err error) {
	db, err := openWrite(path)
	if err != nil {
		return nil, err
	}
	err = classify(alone(ctx, db))
	damaged := errors.Is(err, ledger.ErrDamaged)
	if err != nil && !damaged {
		return nil, errors.Join(err, db.Close())
	}
	if runtime.GOOS != "windows" && !damaged {
		return db.Close, nil
	}
	if err := db.Close(); err != nil && !damaged {
		return nil, err
	}
	if hasJournal(path) {
		return nil, fmt.Errorf("%w, and its journal cannot be folded in: move both away by hand", ledger.ErrDamaged)
	}
	return func() error { return nil }, nil
}

// alone takes the exclusive lock and leaves the write-ahead mode.
func alone(ctx context.Context, db *sql.DB) error {
	for _, statement := range [...]string{
		"PRAGMA locking_mode = EXCLUSIVE", // said first, so that the lock stays taken from now on
		"BEGIN EXCLUSIVE", "ROLLBACK",
	} {
		if _, err := db.ExecContext(ctx, statement); err != nil {
			return err
		}
	}
	// In memory: a rollback journal on the disk would have a name that belongs to the
	// next ledger after the renaming. What is changed lies within one sector.
	var mode string
	if err := db.QueryRowContext(ctx, "PRAGMA journal_mode = MEMORY").Scan(&mode); err != nil {
		return err
	}
	if mode != "memory" {
		return ledger.ErrLocked
	}
	_, err := db.ExecContext(ctx, "BEGIN EXCLUSIVE")
	return err
}

// swap gives the ledger at path the name kept and puts the staged one in its place.
// Where the file system has links there is a ledger at path at every moment.
func swap(staged, path, kept string) (string, error) {
	kept, linked, err := setAside(path, kept)
	if err != nil {
		return "", err
	}
	if err := os.Rename(staged, path); err != nil {
		if linked {
			return "", errors.Join(err, os.Remove(kept))
		}
		return "", errors.Join(err, os.Rename(kept, path))
	}
	syncFolder(filepath.Dir(path))
	return kept, nil
}

// setAside gives the file at path the name kept, or one like it that is free. linked
// tells that it still has its old name too.
func setAside(path, kept string) (name string, linked bool, err error) {
	name = kept
	for i := 2; ; i++ {
		if _, err := os.Lstat(name); errors.Is(err, fs.ErrNotExist) {
			break
		} else if err != nil {
			return "", false, err
		}
		name = fmt.Sprintf("%s-%d", kept, i)
	}
	if os.Link(path, name) == nil {
		return name, true, nil
	}
	return name, false, os.Rename(path, name)
}
