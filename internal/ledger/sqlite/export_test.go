package sqlite

import (
	"context"
	"database/sql"
	"io/fs"

	"boretight/internal/ledger"
)

// OpenWith opens a ledger with the migrations of another version of the program.
func OpenWith(ctx context.Context, path string, m fs.FS) (*DB, error) {
	return open(ctx, path, Options{}, m)
}

// Migrations are those of this program.
func Migrations() fs.FS { return migrations() }

// StepAside reads a ledger from a copy, as in a folder that cannot be written.
func StepAside(ctx context.Context, path string) (*DB, error) {
	db := &DB{path: path}
	if _, err := db.stepAside(ctx); err != nil {
		return nil, err
	}
	return db, db.openRead()
}

// Aside is the folder with the copy that is read.
func (db *DB) Aside() string { return db.aside }

// Seize keeps all others out of a ledger.
func Seize(ctx context.Context, path string) (func() error, error) { return seize(ctx, path) }

// Swap puts staged in the place of a ledger that keeps the name kept.
func Swap(staged, path, kept string) (string, error) { return swap(staged, path, kept) }

// Found is what a search of holds, or of trials, finds where words are rare or frequent from
// these numbers of hits on.
func (db *DB) Found(ctx context.Context, trials bool, f ledger.Filter, rare, frequent int) ([]string, error) {
	list := holdListing
	if trials {
		list = trialListing
	}
	return view(ctx, db, func(tx *sql.Tx) ([]string, error) { return findBy(ctx, tx, list, f, nil, rare, frequent) })
}
