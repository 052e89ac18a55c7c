package trial

import (
	"fmt"
	"slices"
)

// pressing are the notes that must stand beside a verdict of the holds, each once with
// how many of them it is of: what presses on a hold presses on a trial that it counts in.
func pressing(outcomes []Outcome) []string {
	var notes []string
	holds := map[string]int{}
	for _, o := range outcomes {
		own := o.Notes[:min(o.Pressing, len(o.Notes))]
		for i, text := range own {
			if slices.Contains(own[:i], text) {
				continue
			}
			if holds[text]++; holds[text] == 1 {
				notes = append(notes, text)
			}
		}
	}
	for i, text := range notes {
		switch n := holds[text]; {
		case len(outcomes) == 1:
		case n == len(outcomes):
			notes[i] = fmt.Sprintf("In each of the %d holds: %s", n, text)
		default:
			notes[i] = fmt.Sprintf("In %d of %d holds: %s", n, len(outcomes), text)
		}
	}
	return notes
}
