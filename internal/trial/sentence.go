package trial

import (
	"fmt"
	"strconv"

	"boretight/internal/decay"
	"boretight/internal/quantity"
)

// sentence says a comparison for people, in sccm where they are known.
func (c *Comparison) sentence(found, left *decay.Estimate) string {
	unit := "sccm"
	if found == nil || left == nil {
		found, left, unit = &c.Found.Estimate, &c.Left.Estimate, c.Found.Unit
	}
	before, after := figure(*found, unit), figure(*left, unit)
	r := c.Ratio
	switch {
	case r == nil:
		return fmt.Sprintf("As found, the joint leaked too little to say how many times it was changed: %s as found, %s as left.", before, after)
	case r.High == nil && r.Low > 1:
		return fmt.Sprintf("As left, the joint is at least %s times tighter than as found: %s then, %s now, which cannot be told from no leak.", times(r.Low), before, after)
	case r.Low > 1:
		return fmt.Sprintf("As left, the joint is %s times tighter than as found (95 %% interval %s to %s): %s then, %s now.",
			times(*r.Value), times(r.Low), times(*r.High), before, after)
	case r.High != nil && *r.High < 1:
		inverse := "many"
		if r.Low > 0 {
			inverse = times(1 / r.Low)
		}
		return fmt.Sprintf("As left, the joint leaks %s times as much as it did as found (95 %% interval %s to %s): %s then, %s now.",
			times(1 / *r.Value), times(1 / *r.High), inverse, before, after)
	}
	return fmt.Sprintf("No change is shown: %s as found, %s as left.", before, after)
}

// figure is a value with its expanded uncertainty, k = 2.
func figure(e decay.Estimate, unit string) string {
	v, u := quantity.Rounded(e.Value, 2*e.U)
	return fmt.Sprintf("%s ± %s %s", v, u, unit)
}

// times is a factor to three digits, or whole.
func times(x float64) string {
	places := 2
	if x >= 10 {
		places = 1
	}
	if x >= 100 {
		places = 0
	}
	return strconv.FormatFloat(x, 'f', places, 64)
}
