package sqlite

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"

	"boretight/internal/ledger"
)

//go:embed migrations/*.sql
var embedded embed.FS

func migrations() fs.FS {
	m, err := fs.Sub(embedded, "migrations")
	if err != nil {
		panic(err) // the folder is named in this file
	}
	return m
}

// newest returns the number of the last migration.
func newest(m fs.FS) (int64, error) {
	names, err := fs.Glob(m, "*.sql")
	if err != nil {
		return 0, err
	}
	var last int64
	for _, name := range names {
		v, err := goose.NumericComponent(name)
		if err != nil {
			return 0, err
		}
		last = max(last, v)
	}
	return last, nil
}

// supported returns an error for a ledger that this program cannot read as it is.
func supported(v int64, m fs.FS) error {
	last, err := newest(m)
	switch {
	case err != nil:
		return err
	case v == absent:
		return fs.ErrNotExist
	case v > last:
		return fmt.Errorf("%w: schema %d, known up to %d (use the newer program)", ledger.ErrNewer, v, last)
	case v < last:
		return fmt.Errorf("the ledger is of the older schema %d, this program reads %d: start boretight once, which migrates it", v, last)
	}
	return nil
}

// migrate brings the file from version v to the newest. An older ledger is copied
// first: a migration that went wrong must not cost it.
func (db *DB) migrate(ctx context.Context, v int64, m fs.FS) error {
	last, err := newest(m)
	switch {
	case err != nil:
		return err
	case v == last:
		return nil
	case v > last:
		return supported(v, m)
	case v > 0:
		kept := fmt.Sprintf("%s.before-v%d", db.path, last)
		if err := db.vacuumInto(ctx, kept, nil); err != nil && !errors.Is(err, fs.ErrExist) {
			return fmt.Errorf("copy before migrating from schema %d: %w", v, err)
		}
		db.log.Info("copied the ledger before migrating it", "copy", kept, "from_schema", v, "to_schema", last)
	default:
		// Said before all else, so that an interrupted making can be gone on with.
		if _, err := db.write.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
			return err
		}
	}
	return db.up(ctx, m, last)
}

func (db *DB) up(ctx context.Context, m fs.FS, last int64) error {
	p, err := goose.NewProvider(goose.DialectSQLite3, db.write, m, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return err
	}
	_, err = p.Up(ctx)
	if err != nil {
		// Another program may have been faster with the same migration.
		if v, e := version(ctx, db.write); e == nil && v == last {
			return nil
		}
		return fmt.Errorf("migrate to schema %d: %w", last, err)
	}
	if v, err := version(ctx, db.write); err != nil || v != last {
		return errors.Join(err, fmt.Errorf("migrated to schema %d, but user_version is %d", last, v))
	}
	return nil
}
