// Package sqlite keeps a ledger in one SQLite file.
package sqlite

import (
	"context"
	"log/slog"

	"boretight/internal/ledger"
)

// Options are what Open may be given; the zero value will do.
type Options struct {
	// Log is for what an operator would act on; nil discards.
	Log *slog.Logger
}

// DB is an open ledger; it implements [ledger.Store].
type DB struct{ ledger.Store }

// Open opens a ledger for writing, or makes a new one. An older one is copied to
// PATH.before-vN and migrated.
func Open(ctx context.Context, path string, o Options) (*DB, error) { return nil, ledger.ErrNotLedger }

// OpenReadOnly opens a ledger that is there, for reading; nothing is ever written.
func OpenReadOnly(ctx context.Context, path string) (*DB, error) { return nil, ledger.ErrNotLedger }
