package trial

import (
	"fmt"
	"strconv"

	"boretight/internal/decay"
	"boretight/internal/quantity"
)

// sentence says a comparison for people, in sccm where they are known. A change is shown
// when the central 95 % interval of the difference leaves out 0, whatever the ratio says:
// of few holds that interval is wider than the U (k = 2) that is printed beside values.
func (c *Comparison) sentence(found, left *decay.Estimate) string {
	unit := "sccm"
	if found == nil || left == nil {
		found, left, unit = &c.Found.Estimate, &c.Left.Estimate, c.Found.Unit
	}
	apart := c.Difference.Estimate
	if c.DifferenceSCCM != nil && unit == "sccm" {
		apart = *c.DifferenceSCCM
	}
	before, after := figure(*found, unit), figure(*left, unit)
	r := c.Ratio
	switch {
	case r != nil && c.Difference.Low <= 0 && c.Difference.High >= 0:
		return fmt.Sprintf("No change is shown: %s as found, %s as left; their difference may be nothing (95 %% interval %s).", before, after, span(apart, unit))
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
	word := "less"
	if c.Difference.Value < 0 {
		word = "more"
	}
	return fmt.Sprintf("As left, the joint leaks %s than as found, but how many times cannot be said: %s then, %s now; a difference of %s.", word, before, after, span(apart, unit))
}

// figure is a value with its expanded uncertainty, k = 2.
func figure(e decay.Estimate, unit string) string {
	v, u := quantity.Rounded(e.Value, 2*e.U)
	return fmt.Sprintf("%s ± %s %s", v, u, unit)
}

// span is the interval of a value, to the place of its expanded uncertainty.
func span(e decay.Estimate, unit string) string {
	low, _ := quantity.Rounded(e.Low, 2*e.U)
	high, _ := quantity.Rounded(e.High, 2*e.U)
	return fmt.Sprintf("%s to %s %s", low, high, unit)
}

// Text says a ratio with its interval for people.
func (r Ratio) Text() string {
	if r.Value == nil || r.High == nil {
		return fmt.Sprintf("at least %s (one-sided, 95 %%)", times(r.Low))
	}
	return fmt.Sprintf("%s (95 %% interval %s to %s)", times(*r.Value), times(r.Low), times(*r.High))
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
