package catalog

import (
	"fmt"
	"reflect"
	"strings"

	"boretight/internal/quantity"
)

// file is an instrument as it is written. What is empty was not told.
type file struct {
	Instrument string            `toml:"instrument"`
	Like       string            `toml:"like"`
	Title      wordText          `toml:"title"`
	System     wordText          `toml:"system"`
	Sources    map[string]string `toml:"sources"`
	Notes      []wordText        `toml:"notes"`
	Joints     []jointFile       `toml:"joint"`
}

type jointFile struct {
	Name     string        `toml:"name"`
	Title    wordText      `toml:"title"`
	Without  []string      `toml:"without"`
	Notes    []wordText    `toml:"notes"`
	Bore     []boreFile    `toml:"bore"`
	Ends     []endFile     `toml:"end"`
	Sections []sectionFile `toml:"section"`
	Holes    []holeFile    `toml:"hole"`
	Usual    seatFile      `toml:"usual"`
	Seats    []seatFile    `toml:"seat"`
}

type boreFile struct {
	Length lengthText `toml:"length"`
	From   lengthText `toml:"from"`
	To     lengthText `toml:"to"`
}

type endFile struct {
	Name     string     `toml:"name"`
	At       lengthText `toml:"at"`
	ClosedBy wordText   `toml:"closed-by"`
}

type sectionFile struct {
	Name string     `toml:"name"`
	From lengthText `toml:"from"`
	To   lengthText `toml:"to"`
}

type holeFile struct {
	Name     string     `toml:"name"`
	At       lengthText `toml:"at"`
	Diameter lengthText `toml:"diameter"`
	Finger   wordText   `toml:"finger"`
}

type seatFile struct {
	Name    string     `toml:"name"`
	At      lengthText `toml:"at"`
	Hole    lengthText `toml:"hole"`
	Land    lengthText `toml:"land"`
	Pad     lengthText `toml:"pad"`
	PadKind wordText   `toml:"pad-kind"`
	Hinge   lengthText `toml:"hinge"`
	Key     wordText   `toml:"key"`
	Stands  wordText   `toml:"stands"`
	Can     []string   `toml:"can"`
	Reach   wordText   `toml:"reach"`
}

// lengthText is a length with, in brackets, the name of its source. It is a struct so
// that a bare number is refused for want of a unit; see [quantity.Setting]. It keeps its
// fault for later, as the decoder would not always know the line.
type lengthText struct {
	length quantity.Length
	source string
	told   bool
	fault  error
}

// UnmarshalText reads "14.98 mm" or "14.98 mm [repairer]".
func (l *lengthText) UnmarshalText(text []byte) error {
	*l = lengthText{told: true}
	var value string
	if value, l.source, l.fault = bracketed(string(text)); l.fault == nil {
		l.length, l.fault = quantity.ParseLength(value)
	}
	return nil
}

// wordText is text with, in brackets, the name of its source; it keeps its fault too.
type wordText struct {
	text, source string
	fault        error
}

// UnmarshalText reads "leather" or "leather [shop]".
func (w *wordText) UnmarshalText(text []byte) error {
	w.text, w.source, w.fault = bracketed(string(text))
	if w.fault == nil && w.text == "" {
		w.fault = fmt.Errorf("%q says nothing: leave the key out instead", text)
	}
	return nil
}

// bracketed splits a source in brackets off the end of a text.
func bracketed(text string) (value, source string, err error) {
	value = strings.TrimSpace(text)
	inner, found := strings.CutSuffix(value, "]")
	if !found {
		return value, "", nil
	}
	open := strings.LastIndex(inner, "[")
	if open < 0 || strings.TrimSpace(inner[open+1:]) == "" {
		return "", "", fmt.Errorf("%q: want a source in brackets at the end, such as [%s]", text, shopWord)
	}
	return strings.TrimSpace(inner[:open]), strings.TrimSpace(inner[open+1:]), nil
}

// keysAt returns the keys that the table at a dotted path may have.
func keysAt(path []string) []string {
	t := reflect.TypeFor[file]()
	for _, part := range path {
		next, ok := fieldOf(t, part)
		if !ok {
			return nil
		}
		t = next
	}
	var keys []string
	for f := range t.Fields() {
		keys = append(keys, f.Tag.Get("toml"))
	}
	return keys
}

func fieldOf(t reflect.Type, key string) (reflect.Type, bool) {
	for f := range t.Fields() {
		if f.Tag.Get("toml") != key {
			continue
		}
		inner := f.Type
		if inner.Kind() == reflect.Slice {
			inner = inner.Elem()
		}
		return inner, inner.Kind() == reflect.Struct
	}
	return nil, false
}
