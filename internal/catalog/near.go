package catalog

import (
	"cmp"
	"slices"
	"strings"
)

// Near returns up to n joints, INSTRUMENT/JOINT, whose names are most like a name that the
// catalog has not: those of the instrument named come first, then as few letters as can be
// are changed, added or left out.
func (c Catalog) Near(name string, n int) []string {
	type likely struct {
		name  string
		other bool // of another instrument
		far   int
	}
	instrument, _, _ := strings.Cut(name, "/")
	var all []likely
	for _, i := range c.instruments {
		for _, j := range i.Joints {
			full := i.Name + "/" + j.Name
			all = append(all, likely{full, i.Name != instrument, apart(name, full)})
		}
	}
	slices.SortStableFunc(all, func(a, b likely) int {
		if a.other != b.other {
			if b.other {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.far, b.far)
	})
	var names []string
	for _, l := range all[:min(n, len(all))] {
		names = append(names, l.name)
	}
	return names
}

// apart is how many letters must be changed, added or left out to make one name of another
// (Levenshtein 1965).
func apart(a, b string) int {
	from, to := []rune(a), []rune(b)
	row := make([]int, len(to)+1)
	for k := range row {
		row[k] = k
	}
	for i, x := range from {
		before := row[0] // of the row above, one to the left
		row[0] = i + 1
		for k, y := range to {
			change := before
			if x != y {
				change++
			}
			before = row[k+1]
			row[k+1] = min(change, row[k+1]+1, row[k]+1)
		}
	}
	return row[len(to)]
}
