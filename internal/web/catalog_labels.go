package web

import (
	"cmp"
	"slices"
)

func sortMarks(marks []mark) {
	slices.SortStableFunc(marks, func(a, b mark) int { return cmp.Compare(a.x, b.x) })
}

// spread gives labels of marks in order their places: each as near to its mark as can be
// with step between two, none before 0, and none beyond end while there is room.
func spread(marks []mark, step, end float64) {
	// Groups of labels that touch each other are centred over their marks; a group that runs
	// into the one before joins it.
	type group struct {
		first, n int
		sum      float64 // of what each mark wants of the group's beginning
	}
	var groups []group
	from := func(g group) float64 {
		long := step * float64(g.n-1)
		return max(min(g.sum/float64(g.n), end-long), 0)
	}
	for i := range marks {
		g := group{i, 1, marks[i].x}
		for len(groups) > 0 {
			last := groups[len(groups)-1]
			if from(last)+step*float64(last.n) <= from(g) {
				break
			}
			g = group{last.first, last.n + g.n, last.sum + g.sum - step*float64(last.n*g.n)}
			groups = groups[:len(groups)-1]
		}
		groups = append(groups, g)
	}
	for _, g := range groups {
		for k := range g.n {
			marks[g.first+k].label = from(g) + step*float64(k)
		}
	}
}

// marksEnd is where the last label stands.
func marksEnd(marks []mark) float64 {
	end := 0.0
	for _, m := range marks {
		end = max(end, m.label)
	}
	return end
}
