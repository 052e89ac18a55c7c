package config

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// Change gives one key of the settings file a new value. Make it with [Set].
type Change struct {
	key   string
	value any // as a decoder of TOML returns it; nil removes the key
}

// Set changes a key, such as gauges or rig.hose, to a value. An empty text or list
// removes the key, so that its default holds again.
func Set[T ~string | ~int | ~bool | []string](key string, value T) Change {
	c := Change{key: key}
	switch v := reflect.ValueOf(value); v.Kind() {
	case reflect.String:
		if v.Len() > 0 {
			c.value = v.String()
		}
	case reflect.Int:
		c.value = v.Int()
	case reflect.Bool:
		c.value = v.Bool()
	case reflect.Slice:
		list := make([]any, v.Len())
		for i := range list {
			list[i] = v.Index(i).String()
		}
		if len(list) > 0 {
			c.value = list
		}
	}
	return c
}

// Edit returns the text of a settings file with some keys changed and every other
// byte as it was: comments, order, gaps and line ends. A key that has its value
// already is left as it is written; a comment beside a key that is removed stays;
// comments within a list that is replaced go with it. What is new goes behind the
// commented-out line of the same key, else behind its table's last key.
//
// A text that is no TOML is refused with line and column, as is a change after which
// [Read] would refuse the file; then nothing is returned.
func Edit(text []byte, changes ...Change) ([]byte, error) {
	body, marked := bytes.CutPrefix(text, byteOrderMark)
	want, err := tree(body)
	if err != nil {
		return nil, fmt.Errorf("edit settings: %w", err)
	}
	edited := bytes.Clone(body)
	for _, c := range changes {
		if edited, err = c.apply(edited, want); err != nil {
			return nil, fmt.Errorf("edit settings: %s: %w", c.key, err)
		}
	}
	if err := verify(edited, want); err != nil {
		return nil, fmt.Errorf("edit settings: the file as it would be: %w", err)
	}
	if marked {
		edited = append(bytes.Clone(byteOrderMark), edited...)
	}
	return edited, nil
}

var keyPath = regexp.MustCompile(`^[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)*$`)

// apply makes one change to a text, and to the tree of what it then says.
func (c Change) apply(text []byte, want map[string]any) ([]byte, error) {
	if !keyPath.MatchString(c.key) {
		return nil, errors.New("want a key such as gauges or rig.hose")
	}
	path := strings.Split(c.key, ".")
	now, err := lookup(want, path)
	if err != nil {
		return nil, err
	}
	if reflect.DeepEqual(now, c.value) || c.value == nil && empty(now) {
		return text, nil
	}
	if c.value != nil {
		put(want, path, c.value)
	} else {
		drop(want, path)
	}
	d, err := scan(text)
	if err != nil {
		return nil, err
	}
	if c.value == nil {
		return d.without(path)
	}
	value, err := written(c.value, d.eol)
	if err != nil {
		return nil, err
	}
	return d.with(path, value), nil
}

// verify reads an edited text strictly and compares it with what it should say, so
// that no mistake in placing a change reaches the shop's file.
func verify(text []byte, want map[string]any) error {
	got, err := tree(text)
	if err != nil {
		return err
	}
	if _, err := Read(bytes.NewReader(text)); err != nil {
		return err
	}
	if !reflect.DeepEqual(bare(got), bare(want)) {
		return errors.New("it would not say what was asked for: change the file by hand")
	}
	return nil
}

// tree is what a text says, whatever the keys mean.
func tree(text []byte) (map[string]any, error) {
	all := map[string]any{}
	if err := toml.Unmarshal(text, &all); err != nil {
		return nil, placed(err)
	}
	return all, nil
}

// lookup returns the value at a path, nil if there is none.
func lookup(all map[string]any, path []string) (any, error) {
	var at any = all
	for i, part := range path {
		table, ok := at.(map[string]any)
		if !ok {
			return nil, fmt.Errorf("%s is a value, not a table", strings.Join(path[:i], "."))
		}
		if at, ok = table[part]; !ok {
			return nil, nil
		}
	}
	if _, table := at.(map[string]any); table {
		return nil, errors.New("it is a table: change its keys")
	}
	return at, nil
}

// empty reports whether a key says as little as one that is not there.
func empty(value any) bool {
	list, ok := value.([]any)
	return value == nil || value == "" || ok && len(list) == 0
}

// put sets the value at a path that [lookup] found to be free of other values.
func put(all map[string]any, path []string, value any) {
	for _, part := range path[:len(path)-1] {
		table, ok := all[part].(map[string]any)
		if !ok {
			table = map[string]any{}
			all[part] = table
		}
		all = table
	}
	all[path[len(path)-1]] = value
}

// drop removes the value at a path that [lookup] found.
func drop(all map[string]any, path []string) {
	for _, part := range path[:len(path)-1] {
		all, _ = all[part].(map[string]any)
	}
	delete(all, path[len(path)-1])
}

// bare returns a tree without empty tables, which say nothing: the header of a table
// stays when its last key goes.
func bare(all map[string]any) map[string]any {
	kept := maps.Clone(all)
	for key, value := range kept {
		if table, ok := value.(map[string]any); ok {
			if kept[key] = bare(table); len(bare(table)) == 0 {
				delete(kept, key)
			}
		}
	}
	return kept
}
