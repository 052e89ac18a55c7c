package config

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"

	"github.com/pelletier/go-toml/v2/unstable"
)

// document is a settings file's text with the places of what it says, in bytes.
type document struct {
	text    []byte
	eol     string // the line end that the file uses
	entries []entry
	headers []header
	remarks []remark
}

// entry is a key with its value.
type entry struct {
	table  []string // whose header it stands under; nil at the top
	path   []string // the whole path, its table's included
	start  int      // of its key
	value  int      // start of its value
	end    int      // behind its value
	inline bool     // it stands within braces
	braces bool     // its value is a table in braces
}

// header is the line that begins a table.
type header struct {
	table []string
	end   int // behind its last key, so before the bracket that closes it
}

// remark is a key that is commented out.
type remark struct {
	table []string
	key   string
	start int // of its sign
}

var commentedOut = regexp.MustCompile(`^#[ \t]*([A-Za-z0-9_-]+)[ \t]*=`)

// scan finds the places in a text that is known to be TOML.
func scan(text []byte) (document, error) {
	d := document{text: text, eol: "\n"}
	if i := bytes.IndexByte(text, '\n'); i > 0 && text[i-1] == '\r' {
		d.eol = "\r\n"
	}
	parser := unstable.Parser{KeepComments: true}
	parser.Reset(text)
	var table []string
	for parser.NextExpression() {
		switch node := parser.Expression(); node.Kind {
		case unstable.Table, unstable.ArrayTable: // no settings have the latter, so verify refuses them
			var end int
			table, end = keys(node)
			d.headers = append(d.headers, header{table, end})
		case unstable.KeyValue:
			d.add(node, table, table, false)
		case unstable.Comment:
			if m := commentedOut.FindSubmatch(node.Data); m != nil {
				d.remarks = append(d.remarks, remark{table, string(m[1]), int(node.Raw.Offset)})
			}
		}
	}
	if err := parser.Error(); err != nil {
		return document{}, fmt.Errorf("find its place: %w", err)
	}
	return d, nil
}

// add notes a key and, if its value is a table in braces, those within.
func (d *document) add(node *unstable.Node, table, within []string, inline bool) {
	names, behind := keys(node)
	e := entry{
		table: table, path: slices.Concat(within, names), inline: inline,
		start: int(node.Raw.Offset), end: int(node.Raw.Offset + node.Raw.Length),
		braces: node.Value().Kind == unstable.InlineTable,
	}
	e.value = behind + bytes.IndexByte(d.text[behind:], '=') + 1
	e.value = skipBlanks(d.text, e.value)
	d.entries = append(d.entries, e)
	if e.braces {
		for it := node.Value().Children(); it.Next(); {
			if child := it.Node(); child.Kind == unstable.KeyValue {
				d.add(child, table, e.path, true)
			}
		}
	}
}

// keys returns the parts of a node's key and the place behind the last.
func keys(node *unstable.Node) (names []string, behind int) {
	for it := node.Key(); it.Next(); {
		part := it.Node()
		names = append(names, string(part.Data))
		behind = int(part.Raw.Offset + part.Raw.Length)
	}
	return names, behind
}

// lineStart returns where the line of a place begins.
func (d *document) lineStart(at int) int { return bytes.LastIndexByte(d.text[:at], '\n') + 1 }

// lineEnd returns where the line after that of a place begins, or the text's end.
func (d *document) lineEnd(at int) int {
	if i := bytes.IndexByte(d.text[at:], '\n'); i >= 0 {
		return at + i + 1
	}
	return len(d.text)
}

func skipBlanks(text []byte, at int) int {
	for at < len(text) && (text[at] == ' ' || text[at] == '\t') {
		at++
	}
	return at
}
