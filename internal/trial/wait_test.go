package trial_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

// The factors f(kT) of the Cramér–Rao bound of a decay's rate, its zero being known:
// 42.8 and 12.6 at kT = 0.2 and 0.5. So a hold of 2 s of a joint of 10 s that needs 12.6/42.8
// of its uncertainty to be decided needs 3 s more.
func TestALookSaysHowMuchLongerUntilItIsDecided(t *testing.T) {
	const limit, rate = 1.0, 0.9
	decided := 0.1 // the largest u that decides
	for trial.Early(estimate(rate, decided), limit) == trial.Inconclusive {
		decided *= 0.999
	}
	look := func(noise, volume float64) trial.Outcome {
		u := math.Hypot(noise, volume)
		h := &hold.Hold{Held: hold.Span{From: 0, To: 201}}
		for i := range 201 {
			h.Readings = append(h.Readings, trace.Reading{T: time.Duration(i) * 10 * time.Millisecond})
		}
		return trial.JudgeLook(h, decay.Result{
			At: 2500, Temperature: 293.15, Dof: math.Inf(1), Used: h.Held,
			LeakRate:     new(decay.Estimate{Value: rate, U: u, Low: rate - 1.96*u, High: rate + 1.96*u}),
			TimeConstant: new(estimate(10, 0.1)), PressureRate: new(estimate(1, 0.1)),
			Budget: []decay.Contribution{{Source: "noise", U: noise}, {Source: "volume", U: volume}},
		}, limit)
	}
	o := look(decided*42.8/12.6, 0)
	require.Equal(t, trial.Inconclusive, o.Verdict)
	assert.InDelta(t, 3.5, o.Decision.Wait, 0.51, "rounded up; the factors have three digits")
	assert.Zero(t, look(decided/2, 0).Decision.Wait, "decided: nothing to wait for")
	assert.Zero(t, look(decided, decided).Decision.Wait, "what a longer hold does not lower decides")
}
