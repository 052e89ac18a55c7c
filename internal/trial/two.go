package trial

import (
	"fmt"
	"math"
	"slices"
)

const (
	// chance in standard uncertainties of a difference: beyond it two holds differ by more
	// than what varies between them explains (|E_n| > 1, ISO 13528).
	chance = 2
	// wideDof: with fewer degrees of freedom a coverage factor is above 2.4, which people
	// notice.
	wideDof = 6
)

// twoHolds says of a trial of two holds what a third would tell better; empty when
// there is nothing to say. What both share (volume, span, heat …) cannot explain why
// they differ, so noise and zero alone are asked whether they do. Whether it matters
// is another question: not while the two lie within the uncertainty that each has.
func twoHolds(used []Outcome, m combined) string {
	if len(used) != 2 {
		return ""
	}
	a, b := used[0], used[1]
	ownA, _ := split(a.Budget)
	ownB, _ := split(b.Budget)
	apart := math.Abs(a.LeakRate.Value - b.LeakRate.Value)
	whole := math.Hypot(a.LeakRate.U, b.LeakRate.U) / math.Sqrt2
	between := slices.ContainsFunc(m.lines, func(l Line) bool { return l.Dof > 0 && (l.Source == sourceHolds || l.Source == sourceReplug) })
	wide := between && m.dof < wideDof
	text := ""
	switch {
	case apart <= chance*math.Hypot(ownA, ownB):
		if !wide {
			return ""
		}
	case apart <= whole:
		text = fmt.Sprintf("The two holds agree within their uncertainty, %s apart; that they scatter more than their noise alone would is in the result.", share(apart, m.Value))
	default:
		text = fmt.Sprintf("The two holds differ by %s, more than noise and zero explain and more than the standard uncertainty of each: look at what was not alike.", share(apart, m.Value))
	}
	if wide {
		if text != "" {
			text += " "
		}
		text += "From two holds their scatter is hardly known, so the interval is wide; a third narrows it."
	}
	return text
}

// share is a size as a part of a value, for people.
func share(size, of float64) string {
	if of == 0 {
		return fmt.Sprintf("%.2g Pa·m³/s", size)
	}
	return fmt.Sprintf("%.2g %%", 100*size/math.Abs(of))
}
