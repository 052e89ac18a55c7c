package catalog

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// decode reads a file's text strictly, with the lines of its keys.
func decode(name string, text []byte) (file, places, error) {
	var f file
	err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&f)
	if err == nil {
		return f, findPlaces(text), nil
	}
	if unknown, ok := errors.AsType[*toml.StrictMissingError](err); ok {
		faults := make([]error, len(unknown.Errors))
		for i, e := range unknown.Errors {
			line, _ := e.Position()
			faults[i] = &Fault{File: name, Line: line, Text: unknownKey(e.Key())}
		}
		return file{}, nil, errors.Join(faults...)
	}
	line := 1
	said := err.Error()
	if e, ok := errors.AsType[*toml.DecodeError](err); ok {
		line, _ = e.Position()
		said = strings.TrimPrefix(said, "toml: ")
		if key := e.Key(); len(key) > 0 {
			said = strings.Join(key, ".") + ": " + said
		}
	}
	return file{}, nil, &Fault{File: name, Line: line, Text: said}
}

func unknownKey(key toml.Key) string {
	text := fmt.Sprintf("unknown key %q", strings.Join(key, "."))
	if allowed := keysAt(key[:len(key)-1]); len(allowed) > 0 {
		text += ": want one of " + strings.Join(allowed, ", ")
	}
	return text
}
