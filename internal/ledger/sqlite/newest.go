package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"boretight/internal/ledger"
)

// Newest implements [ledger.Store]. CROSS JOIN makes SQLite begin with the records of the
// kind, newest first, and stop at the first that concerns the subject.
func (db *DB) Newest(ctx context.Context, kind ledger.RecordKind, about string) (ledger.Record, error) {
	r, err := scanRecord(db.read.QueryRowContext(ctx, "SELECT "+recordColumns+` FROM records r
		CROSS JOIN about a ON a.chain = r.chain AND a.n = r.n AND a.subject = $2
		WHERE r.kind = $1 ORDER BY r.at_us DESC, r.chain DESC, r.n DESC LIMIT 1`, string(kind), about))
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return r, fmt.Errorf("newest %s record about %s in ledger %s: %w", kind, about, db.path, ledger.ErrNotFound)
	case err != nil:
		return r, fmt.Errorf("read newest %s record about %s in ledger %s: %w", kind, about, db.path, classify(err))
	}
	return r, nil
}
