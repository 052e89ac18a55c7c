package trial

import "strings"

// Withhold takes a pass or a fail back because of the rig: what was measured stays,
// and what to do stands in place of what would settle it. An empty reason changes
// nothing, and where no limit was asked there was nothing to take back.
func (o *Outcome) Withhold(reason string) {
	o.Verdict, o.Decision = withheld(o.Verdict, o.Decision, reason)
}

func (t *Trial) withhold(reason string) {
	t.Verdict, t.Decision = withheld(t.Verdict, t.Decision, reason)
}

func withheld(v Verdict, d *Decision, reason string) (Verdict, *Decision) {
	if reason == "" || d == nil {
		return v, d
	}
	changed := *d
	// A step to take, like others: no sentence, and said once.
	reason = strings.TrimSuffix(strings.TrimPrefix(reason, "Check the rig: "), ".")
	changed.Withheld = reason
	changed.Next = "check the rig before any joint is judged: " + reason
	return Inconclusive, &changed
}
