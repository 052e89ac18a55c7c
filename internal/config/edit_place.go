package config

import (
	"bytes"
	"errors"
	"slices"
	"strings"
)

// with returns the text with the value of a path set.
func (d *document) with(path []string, value string) []byte {
	for _, e := range d.entries {
		if slices.Equal(e.path, path) {
			return d.splice(e.value, e.end, value)
		}
	}
	table, key := path[:len(path)-1], path[len(path)-1]
	for _, e := range d.entries {
		if e.braces && slices.Equal(e.path, table) {
			return d.splice(e.value+1, e.value+1, d.within(e, key+" = "+value))
		}
	}
	if at, line, ok := d.place(table, key); ok {
		return d.insert(at, line+" = "+value)
	}
	if len(table) == 0 {
		return d.insertFirst(key + " = " + value)
	}
	text := d.text
	if len(text) > 0 {
		if text[len(text)-1] != '\n' {
			text = append(text, d.eol...)
		}
		text = append(text, d.eol...)
	}
	return append(text, "["+strings.Join(table, ".")+"]"+d.eol+key+" = "+value+d.eol...)
}

// place finds the line behind which a new key of a table goes, and how the key is
// written there, indented as its neighbour is.
func (d *document) place(table []string, key string) (at int, line string, ok bool) {
	for _, r := range d.remarks {
		if r.key == key && slices.Equal(r.table, table) {
			return d.lineEnd(r.start), d.indent(r.start) + key, true
		}
	}
	for _, e := range slices.Backward(d.entries) {
		if e.inline || len(e.path) != len(table)+1 || !slices.Equal(e.path[:len(table)], table) {
			continue
		}
		below := slices.Concat(table[len(e.table):], []string{key})
		return d.lineEnd(e.end), d.indent(e.start) + strings.Join(below, "."), true
	}
	for _, h := range d.headers {
		if slices.Equal(h.table, table) {
			return d.lineEnd(h.end), key, true
		}
	}
	return 0, "", false
}

// insert puts a line at the start of another, or behind the text's end.
func (d *document) insert(at int, line string) []byte {
	if at > 0 && d.text[at-1] != '\n' {
		return d.splice(at, at, d.eol+line)
	}
	return d.splice(at, at, line+d.eol)
}

// insertFirst puts a line before all tables of a text without keys at its top, but
// behind the comment that heads the file.
func (d *document) insertFirst(line string) []byte {
	at := 0
	for at < len(d.text) && d.text[at] == '#' {
		at = d.lineEnd(at)
	}
	switch {
	case at == len(d.text):
		return d.insert(at, line)
	case d.blank(at):
		at = d.lineEnd(at)
	default:
		at = 0 // the comment is one of what follows it
	}
	if at < len(d.text) && !d.blank(at) {
		line += d.eol
	}
	return d.insert(at, line)
}

// blank reports whether nothing is on the line that begins at a place.
func (d *document) blank(at int) bool {
	return len(bytes.TrimSpace(d.text[at:d.lineEnd(at)])) == 0
}

// within writes a key as the first one in braces.
func (d *document) within(e entry, line string) string {
	if len(bytes.TrimSpace(d.text[e.value+1:e.end-1])) == 0 {
		return " " + line + " "
	}
	return " " + line + ","
}

// without returns the text with a key removed, and its line with it unless there is
// a comment on it.
func (d *document) without(path []string) ([]byte, error) {
	i := slices.IndexFunc(d.entries, func(e entry) bool { return slices.Equal(e.path, path) })
	if i < 0 {
		return nil, errors.New("it is written in a way that is not understood here: remove it by hand")
	}
	e := d.entries[i]
	if e.inline {
		return d.withoutInline(e), nil
	}
	start, end := d.lineStart(e.start), d.lineEnd(e.end)
	if rest := skipBlanks(d.text, e.end); rest < len(d.text) && d.text[rest] == '#' {
		start, end = e.start, rest
	}
	return d.splice(start, end, ""), nil
}

// withoutInline removes a key in braces and the comma that parted it.
func (d *document) withoutInline(e entry) []byte {
	start, end := e.start, skipBlanks(d.text, e.end)
	if d.text[end] == ',' {
		return d.splice(start, skipBlanks(d.text, end+1), "")
	}
	before := bytes.TrimRight(d.text[:start], " \t\r\n")
	if len(before) > 0 && before[len(before)-1] == ',' {
		return d.splice(len(before)-1, e.end, "")
	}
	return d.splice(start, end, "")
}

// indent returns the blanks before a place on its line.
func (d *document) indent(at int) string {
	start := d.lineStart(at)
	return string(d.text[start:skipBlanks(d.text, start)])
}

// splice returns the text with a stretch of it replaced.
func (d *document) splice(start, end int, by string) []byte {
	return slices.Concat(d.text[:start], []byte(by), d.text[end:])
}
