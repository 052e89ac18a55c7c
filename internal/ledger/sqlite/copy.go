package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Copy implements [ledger.Store]: one consistent file, also while holds are being
// written. The copy knows that it is one and will start a chain of its own, wherever
// it is put. It appears under its name only when it is complete.
func (db *DB) Copy(ctx context.Context, dst string) error {
	err := db.vacuumInto(ctx, dst)
	if err != nil {
		return fmt.Errorf("copy ledger %s to %s: %w", db.path, dst, classify(err))
	}
	return nil
}

func (db *DB) vacuumInto(ctx context.Context, dst string) error {
	if _, err := os.Lstat(dst); err == nil {
		return fs.ErrExist
	}
	f, err := os.CreateTemp(filepath.Dir(dst), filepath.Base(dst)+".part-*")
	if err != nil {
		return err
	}
	part := f.Name()
	defer os.Remove(part) // gone when all went well
	if err := f.Close(); err != nil {
		return err
	}
	// VACUUM INTO takes an empty file that exists.
	if _, err := db.read.ExecContext(ctx, "VACUUM INTO $1", part); err != nil {
		return err
	}
	if err := forgetPlace(ctx, part); err != nil {
		return err
	}
	return publish(part, dst)
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

// publish makes a complete file durable and gives it its name.
func publish(part, dst string) error {
	f, err := os.OpenFile(part, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(part, dst); err != nil {
		return err
	}
	syncFolder(filepath.Dir(dst))
	return nil
}

// syncFolder makes a new name durable where folders can be synced; Windows has no
// such call, and a file system that refuses has done what it can.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}
