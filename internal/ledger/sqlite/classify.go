package sqlite

import (
	"errors"
	"fmt"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"boretight/internal/ledger"
)

// classify gives an error of the driver the ledger's own meaning, so that callers
// need not know the driver.
func classify(err error) error {
	e, ok := errors.AsType[*driver.Error](err)
	if !ok {
		return err
	}
	var meaning error
	switch e.Code() & 0xff { // the low byte is the primary code
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		meaning = ledger.ErrLocked
	case lib.SQLITE_READONLY:
		meaning = ledger.ErrReadOnly
	case lib.SQLITE_FULL:
		meaning = ledger.ErrNoSpace
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		meaning = ledger.ErrDamaged
	default:
		return err
	}
	if errors.Is(err, meaning) {
		return err // was told its meaning further in
	}
	return fmt.Errorf("%w: %w", meaning, err)
}
