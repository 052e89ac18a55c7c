package config

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/adrg/xdg"
)

// Path returns the file that [Load] reads when told the same, or where it would be
// made if there is none: told itself or, when empty, the usual place. A file that
// was found may be the system's, which a user cannot write.
func Path(told string) (string, error) {
	if told == "" {
		if found, err := xdg.SearchConfigFile(FileName); err == nil {
			return found, nil
		}
		if xdg.ConfigHome == "" {
			return "", errors.New("find settings: the system names no folder for them: tell one with --config FILE")
		}
		told = filepath.Join(xdg.ConfigHome, FileName)
	}
	path, err := filepath.Abs(told)
	if err != nil {
		return "", fmt.Errorf("find settings %s: %w", told, err)
	}
	return path, nil
}

// Save replaces the file at path by what edit makes of its text, nil where there is
// no file yet; see [Edit]. The file is whole at every moment: the new text is on disk
// before it takes the old one's place. A new file is for its owner alone, as it may
// hold a token; an old one keeps its mode, and a link its target. Nothing is written
// when edit fails or changes nothing. Of two saves at once the later one wins: one
// program's must take turns.
func Save(path string, edit func([]byte) ([]byte, error)) error {
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target
	}
	mode := fs.FileMode(0o600)
	text, err := os.ReadFile(path)
	switch info, statErr := os.Stat(path); {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return fmt.Errorf("save settings: %w", err)
	case statErr != nil:
		return fmt.Errorf("save settings: %w", statErr)
	default:
		mode = info.Mode().Perm()
	}
	edited, err := edit(text)
	if err != nil {
		return fmt.Errorf("save settings %s: %w", path, err)
	}
	if bytes.Equal(edited, text) {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("save settings: %w", err)
	}
	if err := replace(path, edited, mode); err != nil {
		return fmt.Errorf("save settings %s: %w", path, err)
	}
	return nil
}

// replace puts a file in the place of another, or leaves the other.
func replace(path string, text []byte, mode fs.FileMode) (err error) {
	beside, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*.new")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(beside.Name()))
		}
	}()
	_, err = beside.Write(text)
	if err = errors.Join(err, beside.Chmod(mode), beside.Sync(), beside.Close()); err != nil {
		return err
	}
	return os.Rename(beside.Name(), path)
}
