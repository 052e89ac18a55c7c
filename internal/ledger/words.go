package ledger

import (
	"slices"
	"strings"
	"unicode"

	"boretight/internal/ticket"
)

// Word is a word by which a ticket is found.
type Word struct {
	Word string
	// Template tells that it is of the instrument's template alone. Holds and trials tell
	// their instrument themselves.
	Template bool
}

// Words returns the words by which a ticket is found, sorted.
func Words(t TicketRecord, c ticket.Customer) []Word {
	var all []Word
	add := func(text string, template bool) {
		for _, w := range SplitWords(text) {
			all = append(all, Word{w, template})
		}
	}
	for _, text := range [...]string{t.ID, t.Maker, t.Model, t.Serial, c.Name, c.Contact} {
		add(text, false)
	}
	add(t.Template, true)
	slices.SortStableFunc(all, func(a, b Word) int { return strings.Compare(a.Word, b.Word) })
	return slices.CompactFunc(all, func(a, b Word) bool { return a.Word == b.Word })
}

// SplitWords returns what of a text a search may find: what stands between spaces, in lower
// case and without marks around it, and where marks stand inside it (english-horn, AB/1187)
// its parts as well.
func SplitWords(text string) []string {
	var words []string
	for _, w := range SearchWords(text) {
		words = append(words, w)
		if parts := strings.FieldsFunc(w, isMark); len(parts) > 1 {
			words = append(words, parts...)
		}
	}
	return words
}

// SearchWords returns the words of a search as [SplitWords] would have them, whole.
func SearchWords(search string) []string {
	var words []string
	for _, w := range strings.Fields(strings.ToLower(search)) {
		if w = strings.TrimFunc(w, isMark); w != "" {
			words = append(words, w)
		}
	}
	return words
}

// isMark tells what is no part of a word. Sharp and flat are part of a key's name.
func isMark(r rune) bool {
	return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) && !strings.ContainsRune("#♯♭", r)
}
