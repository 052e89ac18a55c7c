package main

import (
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"
)

const (
	// plainWidth is how many characters a line for people has at most where nobody tells
	// how wide the screen is: what the smallest terminals show.
	plainWidth = 80
	// narrowest is the least that lines are broken to: with less left beside a label, one
	// word a line would be harder to read than lines that the terminal breaks.
	narrowest = 40
)

// screenWidth is how many characters a line on a stream may have: those of its terminal,
// else plainWidth, so that a file reads the same wherever it was made.
func screenWidth(stream any) int {
	f, ok := stream.(*os.File)
	if !ok || !terminal(f) {
		return plainWidth
	}
	width, _, err := term.GetSize(int(f.Fd()))
	if err != nil || width <= 0 {
		return plainWidth
	}
	return max(width, narrowest)
}

// wrapped is [wrappedTo] the screen of standard output.
func wrapped(label, text string) string { return wrappedTo(screenWidth(os.Stdout), label, text) }

// wrappedTo breaks a text into lines of at most width characters: the first begins
// with label, the others as far in as the first one's text. A word that is longer stands
// by itself.
func wrappedTo(width int, label, text string) string {
	indent := utf8.RuneCountInString(label)
	var b strings.Builder
	b.WriteString(label)
	column, begun := indent, false
	for word := range strings.FieldsSeq(text) {
		length := utf8.RuneCountInString(word)
		switch {
		case !begun:
		case column+1+length > width:
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
