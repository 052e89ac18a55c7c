package config

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/adrg/xdg"
	"github.com/pelletier/go-toml/v2"
)

// FileName is the file's place below the system's folder of settings.
const FileName = "boretight/boretight.toml"

// Load reads the file at path over [Default]. An empty path means the usual place,
// where the file may be absent.
func Load(path string) (Config, error) {
	if path == "" {
		found, err := xdg.SearchConfigFile(FileName)
		if err != nil {
			return Default(), nil
		}
		path = found
	}
	file, err := os.Open(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return Config{}, fmt.Errorf("read configuration: %s does not exist", path)
	case err != nil:
		return Config{}, fmt.Errorf("read configuration: %w", err)
	}
	defer file.Close()
	c, err := Read(file)
	if err != nil {
		return Config{}, fmt.Errorf("configuration %s: %w", path, err)
	}
	return c, nil
}

// byteOrderMark is what some editors put before a file's text; it says nothing.
var byteOrderMark = []byte("\xef\xbb\xbf")

// Read reads a file's text over [Default], and validates it.
func Read(r io.Reader) (Config, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return Config{}, err
	}
	c := Default()
	text = bytes.TrimPrefix(text, byteOrderMark)
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&c); err != nil {
		return Config{}, placed(err)
	}
	return c, c.Validate()
}

// placed adds the line and column to a fault of the file.
func placed(err error) error {
	if unknown, ok := errors.AsType[*toml.StrictMissingError](err); ok {
		faults := make([]error, len(unknown.Errors))
		for i, e := range unknown.Errors {
			line, column := e.Position()
			faults[i] = fmt.Errorf("line %d, column %d: unknown key %q", line, column, key(e.Key()))
		}
		return errors.Join(faults...)
	}
	if fault, ok := errors.AsType[*toml.DecodeError](err); ok {
		line, column := fault.Position()
		return fmt.Errorf("line %d, column %d: %w", line, column, err)
	}
	return err
}

func key(parts toml.Key) string { return strings.Join(parts, ".") }
