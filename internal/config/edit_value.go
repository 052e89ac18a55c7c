package config

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// maxList in bytes is the longest list that is written on one line.
const maxList = 90

// written writes a value in TOML, a long list one element a line.
func written(value any, eol string) (string, error) {
	switch v := value.(type) {
	case string:
		return quoted(v)
	case int64:
		return strconv.FormatInt(v, 10), nil
	case bool:
		return strconv.FormatBool(v), nil
	case []any:
		elements := make([]string, len(v))
		for i, e := range v {
			var err error
			if elements[i], err = written(e, eol); err != nil {
				return "", err
			}
		}
		if line := "[" + strings.Join(elements, ", ") + "]"; len(line) <= maxList {
			return line, nil
		}
		return "[" + eol + "  " + strings.Join(elements, ","+eol+"  ") + "," + eol + "]", nil
	}
	return "", fmt.Errorf("a value of type %T is not written in settings", value)
}

var escapes = map[rune]string{
	'"': `\"`, '\\': `\\`, '\b': `\b`, '\t': `\t`, '\n': `\n`, '\f': `\f`, '\r': `\r`,
}

// quoted writes a basic string, whose control characters TOML wants escaped.
func quoted(text string) (string, error) {
	if !utf8.ValidString(text) {
		return "", errors.New("the text is not UTF-8")
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch escape, known := escapes[r]; {
		case known:
			b.WriteString(escape)
		case r < ' ' || r == '\u007f':
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String(), nil
}
