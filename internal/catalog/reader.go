package catalog

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// reader turns what a file tells into values, and gathers its faults.
type reader struct {
	name    string
	usual   Source // of values that do not say theirs
	sources map[string]string
	places  places
	where   map[string]string // path of each named thing that the file tells, by kind and name
	faults  []error
}

func (r *reader) fault(path, format string, args ...any) {
	r.faults = append(r.faults, &Fault{File: r.name, Line: r.places.line(path), Text: fmt.Sprintf(format, args...), Path: path})
}

// err joins the faults in the order of their lines.
func (r *reader) err() error {
	slices.SortStableFunc(r.faults, func(a, b error) int { return lineOf(a) - lineOf(b) })
	return errors.Join(r.faults...)
}

func lineOf(err error) int {
	f, ok := errors.AsType[*Fault](err)
	if !ok {
		return 0
	}
	return f.Line
}

// source finds what a name in brackets means.
func (r *reader) source(path, name string) Source {
	switch name {
	case "":
		return r.usual
	case startingWord:
		return Source{Kind: Starting}
	case shopWord:
		return Source{Kind: Shop}
	}
	text, ok := r.sources[name]
	if !ok || text == "" {
		allowed := slices.Concat([]string{startingWord, shopWord}, slices.Sorted(maps.Keys(r.sources)))
		r.fault(path, "no source %q: want one of %s, or a line %s = \"…\" under [sources]", name, strings.Join(allowed, ", "), name)
	}
	return Source{Published, text}
}

// length lays a length over what was known.
func (r *reader) length(path string, t lengthText, was *Length) {
	switch {
	case t.fault != nil:
		r.fault(path, "%s: %v", keyOf(path), t.fault)
	case t.told:
		*was = Length{t.length, r.source(path, t.source)}
	}
}

// word lays a text over what was known.
func (r *reader) word(path string, t wordText, was *Word) {
	switch {
	case t.fault != nil:
		r.fault(path, "%s: %v", keyOf(path), t.fault)
	case t.text != "":
		*was = Word{t.text, r.source(path, t.source)}
	}
}

// keyOf is the last part of a path.
func keyOf(path string) string { return path[strings.LastIndex(path, ".")+1:] }

// notes adds to the notes that were known.
func (r *reader) notes(path string, told []wordText, was *[]Word) {
	for i, t := range told {
		var w Word
		r.word(element(path, i), t, &w)
		*was = append(*was, w)
	}
}

// maxName in letters keeps labels and columns short, as in the labels of holds.
const maxName = 40

// named refuses what cannot be a name; what is "instrument", "seat" and so on.
func (r *reader) named(path, what, name string) bool {
	seen := func(c rune) bool { return unicode.IsPrint(c) }
	plain := utf8.ValidString(name) && strings.TrimSpace(name) == name && strings.IndexFunc(name, func(c rune) bool { return !seen(c) }) < 0
	switch {
	case name == "":
		r.fault(path, "%s without a name: want name = \"…\"", what)
	case !plain || utf8.RuneCountInString(name) > maxName:
		r.fault(path, "%s %q: want a name of 1 to %d letters, digits or signs that can be seen", what, name, maxName)
	case strings.Contains(name, "/") && (what == "instrument" || what == "joint"):
		r.fault(path, "%s %q: want a name without /, which stands between instrument and joint", what, name)
	default:
		return true
	}
	return false
}

// layOver lays the named things of a file's list over those known: a known name is
// changed, another added, one told twice is a fault.
func layOver[T, F any](r *reader, path, what string, known []T, told []F, name func(T) string, toldName func(F) string, lay func(path string, was *T, f F)) []T {
	first := map[string]int{}
	for i, f := range told {
		at := element(path, i)
		n := toldName(f)
		if !r.named(at, what, n) {
			continue
		}
		if line, twice := first[n]; twice {
			r.fault(at, "two of the name: %s %q stands in line %d already; want each name once", what, n, line)
			continue
		}
		first[n] = r.places.line(at)
		r.where[what+" "+n] = at
		k := slices.IndexFunc(known, func(t T) bool { return name(t) == n })
		if k < 0 {
			k = len(known)
			known = append(known, *new(T))
		}
		lay(at, &known[k], f)
	}
	return known
}
