package trial

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"boretight/internal/decay"
)

// Improvement is a line of a budget seen as something to work on.
type Improvement struct {
	Source string `json:"source"`
	// URelative is the standard uncertainty that the source contributes, as a share of
	// the result.
	URelative float64 `json:"u_relative"`
	// Share of the result's variance.
	Share float64 `json:"share"`
	// Gain is by what share the result's standard uncertainty would fall if this line
	// were halved.
	Gain float64 `json:"gain"`
	// Do is what a repairer can do about it.
	Do string `json:"do"`
}

// Improvements ranks what a hold's uncertainty is made of: what to improve first
// comes first.
func (o Outcome) Improvements() []Improvement { return improvements(o.Budget) }

// Improvements ranks what a trial's uncertainty is made of: what to improve first
// comes first.
func (t Trial) Improvements() []Improvement {
	budget := make([]decay.Contribution, len(t.Budget))
	for i, l := range t.Budget {
		budget[i] = l.Contribution
	}
	return improvements(budget)
}

func improvements(budget []decay.Contribution) []Improvement {
	total := totalOf(budget)
	var all []Improvement
	for _, c := range budget {
		if !(c.U > 0) || math.IsInf(total, 0) {
			continue
		}
		share := c.U * c.U / (total * total)
		all = append(all, Improvement{
			Source: c.Source, URelative: c.URelative, Share: share,
			Gain: 1 - math.Sqrt(1-0.75*share), Do: advice(c.Source),
		})
	}
	slices.SortStableFunc(all, func(a, b Improvement) int { return cmp.Compare(b.Share, a.Share) })
	return all
}

const (
	// barWidth is how many characters a bar of the whole variance takes.
	barWidth = 24
	// Worthwhile is the least [Improvement.Gain] for which something to do is named.
	Worthwhile = 0.05
)

// BudgetText is the budget as a table with bars for a terminal of 80 columns, and what
// to improve first; empty when there is none. The last column says by how much the
// result's u would fall if the line were halved.
func BudgetText(all []Improvement) string {
	if len(all) == 0 {
		return ""
	}
	width := len("source")
	for _, i := range all {
		width = max(width, utf8.RuneCountInString(i.Source))
	}
	var b strings.Builder
	fmt.Fprintf(&b, "  %-*s  %8s  %-*s  %5s  %9s\n", width, "source", "u", barWidth, "share of the variance", "", "if halved")
	for _, i := range all {
		fmt.Fprintf(&b, "  %-*s  %6.2g %%  %-*s  %3.0f %%  %9s\n",
			width, i.Source, 100*i.URelative, barWidth, bar(i.Share), 100*i.Share, fmt.Sprintf("u −%.0f %%", 100*i.Gain))
	}
	if first := all[0]; first.Gain >= Worthwhile {
		fmt.Fprintf(&b, "  improve first: %s\n    %s\n", first.Source, first.Do)
	}
	return b.String()
}

// bar is a share of 1 drawn to half a character.
func bar(share float64) string {
	halves := int(math.Round(2 * barWidth * share))
	return strings.Repeat("█", halves/2) + strings.Repeat("▌", halves%2)
}
