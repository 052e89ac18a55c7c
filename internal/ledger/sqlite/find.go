package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"boretight/internal/ledger"
)

// pastPrefix comes behind every letter of an identity, which is hexadecimal.
const pastPrefix = "~"

// FindHold implements [ledger.Store].
func (db *DB) FindHold(ctx context.Context, prefix string) (string, error) {
	prefix = strings.ToLower(prefix)
	rows, err := db.read.QueryContext(ctx, "SELECT id FROM holds WHERE id >= $1 AND id < $2 ORDER BY id LIMIT 2", prefix, prefix+pastPrefix)
	ids, err := collect(rows, err, scanText)
	if err == nil {
		err = single(prefix, len(ids))
	}
	if err != nil {
		return "", fmt.Errorf("find hold %q in ledger %s: %w", prefix, db.path, err)
	}
	return ids[0], nil
}

// FindTrial implements [ledger.Store].
func (db *DB) FindTrial(ctx context.Context, prefix string) (ledger.TrialEntry, error) {
	prefix = strings.ToLower(prefix)
	found, err := db.trialsNamed(ctx, prefix)
	if err == nil {
		err = single(prefix, len(found))
	}
	if err != nil {
		return ledger.TrialEntry{}, fmt.Errorf("find trial %q in ledger %s: %w", prefix, db.path, classify(err))
	}
	return found[0], nil
}

// trialsNamed returns up to two trials that begin with a prefix.
func (db *DB) trialsNamed(ctx context.Context, prefix string) ([]ledger.TrialEntry, error) {
	var w where
	w.add("t.id >= %s", prefix)
	w.add("t.id < %s", prefix+pastPrefix)
	return trials(ctx, db.read, w, "t.id", 2)
}

func scanText(rows *sql.Rows) (s string, err error) { return s, rows.Scan(&s) }

// single refuses none and several.
func single(prefix string, n int) error {
	switch {
	case n == 0:
		return ledger.ErrNotFound
	case n > 1 || prefix == "":
		return fmt.Errorf("%w: write more of it", ledger.ErrAmbiguous)
	}
	return nil
}
