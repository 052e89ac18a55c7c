package web

import (
	"slices"
	"strings"

	"boretight/internal/trial"
)

// reservations are what a printed result must not stand without: who holds the slip sees no
// notes. Each is told by what the notes of a trial say, in the order of their weight.
var reservations = []struct {
	short string
	says  []string // any of them, in a note
}{
	{"rig not proven", []string{"Rig not proven"}},
	{"volume of the catalog’s bore, not measured", []string{"volume is that of the catalog's bore"}},
	{"disturbed", []string{
		"only the stretch before counts", "knocked aside and came back", "warmed or cooled during the hold", "The hold was cut short",
	}},
}

// reservationsOf a trial, in short words.
func reservationsOf(t trial.Trial) []string {
	var all []string
	for _, r := range reservations {
		said := slices.ContainsFunc(t.Notes, func(note string) bool {
			return slices.ContainsFunc(r.says, func(part string) bool { return strings.Contains(note, part) })
		})
		if said {
			all = append(all, r.short)
		}
	}
	return all
}

// reserve says once what all figures share, and marks each of the others with a letter that
// is told below.
func (v *printView) reserve(results []*printResult) {
	for _, r := range reservations {
		var with []*printResult
		for _, result := range results {
			if slices.Contains(result.reserved, r.short) {
				with = append(with, result)
			}
		}
		switch {
		case len(with) == 0:
		case len(with) == len(results):
			v.Reserved = append(v.Reserved, r.short)
		default:
			mark := string(rune('a' + len(v.Marks)))
			v.Marks = append(v.Marks, reservedMark{mark, r.short})
			for _, result := range with {
				result.Marks += mark
			}
		}
	}
}

// reservedMark is a letter beside figures, and what it means.
type reservedMark struct{ Mark, Says string }
