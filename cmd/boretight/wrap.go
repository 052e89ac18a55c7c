package main

import (
	"strings"
	"unicode/utf8"
)

// screenWidth is how many characters a line for people has at most: what the smallest
// terminals show.
const screenWidth = 80

// wrapped breaks a text into lines of at most screenWidth characters: the first begins
// with label, the others as far in as the first one's text. A word that is longer stands
// by itself.
func wrapped(label, text string) string {
	indent := utf8.RuneCountInString(label)
	var b strings.Builder
	b.WriteString(label)
	column, begun := indent, false
	for word := range strings.FieldsSeq(text) {
		length := utf8.RuneCountInString(word)
		switch {
		case !begun:
		case column+1+length > screenWidth:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			column = indent
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += length
		begun = true
	}
	b.WriteByte('\n')
	return b.String()
}
