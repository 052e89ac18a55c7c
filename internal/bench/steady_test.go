package bench

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/trial"
)

// A look allows a verdict, and later ones take it back and allow it again, since the estimate
// becomes less sure for a while.
func TestAnEarlyVerdictDoesNotComeAndGo(t *testing.T) {
	const pass, fail, open = trial.Pass, trial.Fail, trial.Inconclusive
	for name, c := range map[string]struct {
		allowed  []trial.Verdict
		conforms []float64 // probabilities of conformity
		want     []trial.Verdict
	}{
		"told at the second look":          {[]trial.Verdict{pass, pass}, []float64{0.99, 0.99}, []trial.Verdict{open, pass}},
		"an unlucky look alone tells none": {[]trial.Verdict{pass, open, open}, []float64{0.99, 0.9, 0.9}, []trial.Verdict{open, open, open}},
		"it stays while a finished hold would get it": {
			[]trial.Verdict{pass, pass, open, pass}, []float64{0.99, 0.99, 0.96, 0.99}, []trial.Verdict{open, pass, pass, pass}},
		"it goes when a finished hold would not": {
			[]trial.Verdict{fail, fail, open, fail}, []float64{0.01, 0.01, 0.2, 0.01}, []trial.Verdict{open, fail, open, open}},
		"another one needs two looks as well": {
			[]trial.Verdict{pass, pass, fail, fail}, []float64{0.99, 0.99, 0.01, 0.01}, []trial.Verdict{open, pass, open, fail}},
	} {
		var g glance
		for i, v := range c.allowed {
			o := trial.Outcome{Verdict: v, LeakRate: &trial.LeakRate{}, Decision: &trial.Decision{PConform: c.conforms[i]}}
			g.steady(&o)
			assert.Equal(t, c.want[i], o.Verdict, "%s: look %d", name, i+1)
		}
	}
	var g glance
	o := trial.Outcome{LeakRate: &trial.LeakRate{}}
	g.steady(&o)
	assert.Equal(t, trial.None, o.Verdict, "no limit, no verdict")
}
