package main

import (
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

// heldWith simulates a hold of a small joint in which something may happen, and judges it.
func heldWith(t *testing.T, events sim.Events) trial.Outcome {
	t.Helper()
	leak, err := sim.NewLeak(2e-3, 0.1, sim.StatedPa, sim.Suction, sim.Air{})
	require.NoError(t, err)
	for i := range events.Openings {
		events.Openings[i].Leak = leak
	}
	tr, truths, err := sim.Scenario{
		Joint:  sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, 39e-6)}},
		Leaks:  []sim.Leak{leak},
		Holds:  []sim.Hold{{Rest: 2, Draw: sim.Draw{To: 2800, Seconds: 1}, Seconds: 16, After: 2.2}},
		Events: events,
		Sensor: sim.Sensor{Noise: 1, Zero: 13},
		Seed:   1,
	}.Run()
	require.NoError(t, err)
	limit, err := quantity.ParseLeakRate("2.5sccm")
	require.NoError(t, err)
	m := measure{
		setup: decay.Setup{Volume: decay.Input{Value: truths[0].Volume, U: 0.01 * truths[0].Volume}, SpanU: -1},
		limit: limit, notes: []string{"Assumed by the command line."},
	}
	o := m.judge(hold.Find(tr)[0])
	o.Gauge = "bench"
	return o
}

// told is what is printed of some results, one after another.
func told(t *testing.T, outcomes ...trial.Outcome) string {
	t.Helper()
	var b strings.Builder
	teller := &teller{w: &b}
	for _, o := range outcomes {
		require.NoError(t, teller.outcome(o, nil, false))
	}
	return b.String()
}

func TestADisturbedHoldSaysSoBesideItsVerdict(t *testing.T) {
	t.Parallel()
	text := told(t, heldWith(t, sim.Events{Openings: []sim.Opening{{From: 9, Over: 0.02}}}))
	lines := strings.Split(text, "\n")
	assert.Regexp(t, `^bench: PASS UP TO [789]\.\d s, then disturbed: 1\.1\d+ ± 0\.\d+ sccm$`, lines[0])
	assert.Regexp(t, `^  note: \d\.\d s after isolation the joint began to leak more`, lines[1])
	assert.Contains(t, text, "held for\n                 15.9 s in all")
	assert.Contains(t, lines[3], "leakage rate", "assumptions do not stand beside the verdict")
	assert.Less(t, strings.Index(text, "No bore was told"), strings.Index(text, "Assumed by the command line."))
	assert.Less(t, strings.Index(text, "leakage rate  "), strings.Index(text, "No ambient pressure was told"), "assumptions come last")
}

func TestAKnockThatCameBackIsSaidBesideTheVerdictToo(t *testing.T) {
	t.Parallel()
	text := told(t, heldWith(t, sim.Events{Bumps: []sim.Bump{{At: 7, Seconds: 0.2, Volume: 4e-8}}}))
	assert.Regexp(t, `^bench: PASS, though disturbed: 1\.`, text)
}

func TestTheRuleIsSaidInFullOnce(t *testing.T) {
	t.Parallel()
	o := heldWith(t, sim.Events{})
	text := told(t, o, o, o)
	assert.Equal(t, 1, strings.Count(text, "at least 0.95, fail when"))
	assert.Equal(t, 2, strings.Count(text, "as above: 95 % sure"))
	assert.Equal(t, 3, strings.Count(text, "2.5 sccm; within it with a probability of more than 0.999"))
	early := o
	early.Decision = &trial.Decision{LimitSCCM: 2.5, Rule: "another rule", PConform: 0.00001}
	text = told(t, o, early, o)
	assert.Equal(t, 2, strings.Count(text, "at least 0.95, fail when"), "another rule between them: it is not as above")
	assert.Contains(t, text, "less than 0.001")
}

func TestResultsFitANarrowScreen(t *testing.T) {
	t.Parallel()
	o := heldWith(t, sim.Events{})
	o.Gauge = "oboe-upper"
	for line := range strings.Lines(told(t, o) + trial.BudgetText(o.Improvements())) {
		assert.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), screenWidth(os.Stdout), line)
	}
	assert.Equal(t, "  a: "+strings.Repeat("x", 90)+"\n     b\n", wrappedTo(plainWidth, "  a: ", strings.Repeat("x", 90)+" b"), "what cannot be broken stands by itself")
}

func TestWhyThereIsNoResultIsSaidFirst(t *testing.T) {
	t.Parallel()
	o := trial.Outcome{Gauge: "bench", Hold: &trial.Extent{End: 1}, Notes: []string{"Too short.", "It was cut.", "Assumed."}, Pressing: 2}
	assert.True(t, strings.HasPrefix(told(t, o), "bench: NO LEAKAGE RATE\n  note: Too short.\n  note: It was cut.\n"))
	o.PressureRate = &trial.Value{Value: 100, U: 1}
	assert.Contains(t, told(t, o), "bench: NO LEAKAGE RATE: it needs a volume\n")
	o.Decision = &trial.Decision{LimitSCCM: 2.5, PConform: 0.5}
	assert.Contains(t, told(t, o), "  limit          2.5 sccm\n", "no probability of what was not measured")
}

// A file and a live gauge say alike where their limit came from.
func TestALimitThatWasToldIsSaidToBe(t *testing.T) {
	t.Parallel()
	o := heldWith(t, sim.Events{})
	assert.Equal(t, "told for this measurement", o.Decision.From)
	assert.NotContains(t, told(t, o), "limit from", "the person who told it knows")
}
