package trial

import (
	"math"
	"slices"

	"boretight/internal/decay"
)

// pair is two leakage rates with what is common to their errors.
type pair struct {
	found, left decay.Estimate
	own         [2][]Line // lines of each that are its own
	shared      [][2]float64
}

func pairOf(found, left Trial, common Common) pair {
	p := pair{found: found.LeakRate.Estimate, left: left.LeakRate.Estimate}
	of := func(lines []Line, source string) float64 {
		i := slices.IndexFunc(lines, func(l Line) bool { return l.Source == source })
		if i < 0 {
			return 0
		}
		return lines[i].U
	}
	for side, t := range []Trial{found, left} {
		lines := t.Budget
		if len(lines) == 0 { // read back without its budget
			l := Line{Dof: t.Dof}
			l.U = t.LeakRate.U
			lines = []Line{l}
		}
		for _, l := range lines {
			switch {
			case !common.has(l.Source):
				p.own[side] = append(p.own[side], l)
			case side == 0 || of(found.Budget, l.Source) == 0:
				p.shared = append(p.shared, [2]float64{of(found.Budget, l.Source), of(left.Budget, l.Source)})
			}
		}
	}
	return p
}

// contrast is the standard uncertainty of found − r·left and its degrees of freedom:
// shared errors are subtracted before they are squared.
func (p pair) contrast(r float64) (u, dof float64) {
	lines := slices.Clone(p.own[0])
	for _, l := range p.own[1] {
		l.U *= r
		lines = append(lines, l)
	}
	for _, s := range p.shared {
		lines = append(lines, Line{Contribution: decay.Contribution{U: math.Abs(s[0] - r*s[1])}})
	}
	return welchSatterthwaite(lines)
}

func (p pair) difference() decay.Estimate {
	u, dof := p.contrast(1)
	k := student{dof}.quantile((1 + coverage) / 2)
	d := p.found.Value - p.left.Value
	return decay.Estimate{Value: d, U: u, Low: d - k*u, High: d + k*u}
}
