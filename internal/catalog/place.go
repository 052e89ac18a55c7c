package catalog

import (
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// Fault is one thing wrong with a file, at a line.
type Fault struct {
	File string
	Line int
	Text string // what was found and what is allowed
	Path string // of the key, such as joint[0].seat[3].at; empty where the file could not be read
}

// Error has the file, the line and the text.
func (f *Fault) Error() string { return fmt.Sprintf("%s: line %d: %s", f.File, f.Line, f.Text) }

// places tells the line of each key of a file, such as joint[0].seat[3].at. A decoder
// knows it only while it decodes, and most faults show when all is read.
type places map[string]int

// findPlaces reads the lines of a file that decodes.
func findPlaces(text []byte) places {
	found := make(places)
	var p unstable.Parser
	p.Reset(text)
	table := ""
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table, unstable.ArrayTable:
			table = found.header(&p, e)
		case unstable.KeyValue:
			found.pair(&p, table, e)
		}
	}
	return found
}

// header notes the line of a table's head and returns the table's path. A part that
// names an array of tables means its last one, or begins a new one.
func (f places) header(p *unstable.Parser, e *unstable.Node) string {
	path := ""
	for key := e.Key(); key.Next(); {
		path = join(path, string(key.Node().Data))
		n := f.count(path)
		line := p.Shape(key.Node().Raw).Start.Line
		switch last := key.IsLast(); {
		case last && e.Kind == unstable.ArrayTable:
			path = element(path, n)
			f[path] = line
		case last:
			f[path] = line
		case n > 0:
			path = element(path, n-1)
		}
	}
	return path
}

// pair notes the line of a key and of all that is written in its value.
func (f places) pair(p *unstable.Parser, table string, e *unstable.Node) {
	path, line := table, 0
	for key := e.Key(); key.Next(); {
		path = join(path, string(key.Node().Data))
		line = p.Shape(key.Node().Raw).Start.Line
	}
	f[path] = line
	f.value(p, path, e.Value())
}

func (f places) value(p *unstable.Parser, path string, v *unstable.Node) {
	switch v.Kind {
	case unstable.InlineTable:
		for pairs := v.Children(); pairs.Next(); {
			f.pair(p, path, pairs.Node())
		}
	case unstable.Array:
		i := 0
		for elements := v.Children(); elements.Next(); i++ {
			n := elements.Node()
			if n.Raw.Length > 0 {
				f[element(path, i)] = p.Shape(n.Raw).Start.Line
			}
			f.value(p, element(path, i), n)
		}
	}
}

// count returns how many tables of an array are known.
func (f places) count(path string) int {
	n := 0
	for f[element(path, n)] > 0 {
		n++
	}
	return n
}

// line returns the line of a path, or of the nearest table around it.
func (f places) line(path string) int {
	for path != "" {
		if line, ok := f[path]; ok {
			return line
		}
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
	}
	return 1
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func element(path string, i int) string { return fmt.Sprintf("%s[%d]", path, i) }
