package web

import "boretight/internal/bench"

// standing puts in the place of a verdict why a stored hold has none: it may be on the bench
// at this moment, and says nothing against the joint.
func (v *holdView) standing(hold bench.HoldData) {
	if hold.Unended != "" {
		v.Verdict = verdictView{Word: hold.Unended, Class: "none"}
	}
}
