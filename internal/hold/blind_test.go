package hold_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

func TestAGaugeThatGoesBlindInAHoldDoesNoHarm(t *testing.T) {
	for _, kind := range []trace.Status{trace.Faulty, trace.Saturated} {
		for name, after := range map[string]float64{"in the hold": 3, "in the vent": 10.1, "in the rest": 11.7} {
			t.Run(name, func(t *testing.T) {
				s := oboe(25, sim.Suction)
				s.Holds[0].Seconds, s.Holds[0].After = 10, 40
				tr, truths := run(t, s)
				for i, r := range tr.Readings {
					if r.Seconds() > truths[0].Isolated+after {
						tr.Readings[i].Status = kind
					}
				}
				for _, h := range hold.Find(tr) {
					sound(t, h)
					assert.InDelta(t, truths[0].Isolated, h.Isolation, 0.05)
				}
			})
		}
	}
}
