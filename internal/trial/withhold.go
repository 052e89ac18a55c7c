package trial

import (
	"cmp"
	"strings"
)

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
	changed.Next = rigFirst + reason
	return Inconclusive, &changed
}

// rigFirst is what to do about a verdict that was withheld.
const rigFirst = "check the rig before any joint is judged: "

// WithheldBecause returns why a pass or a fail was taken back, empty when none was. It reads
// decisions of before Withheld was kept, too.
func (d *Decision) WithheldBecause() string {
	if reason, ok := strings.CutPrefix(d.Next, rigFirst); ok {
		return cmp.Or(d.Withheld, reason)
	}
	return d.Withheld
}
