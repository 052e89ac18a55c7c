package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/trial"
)

// printedOf runs a command that waits for so many holds past events and returns what it prints.
func printedOf(t *testing.T, holds int, asJSON bool, publish func(held func(id, sign string), now func(trial.Trial))) []string {
	t.Helper()
	hub := bench.NewHub(100)
	events := hub.Subscribe(100)
	publish(func(id, sign string) {
		hub.Publish(bench.EventHold, bench.HoldData{Outcome: trial.Outcome{ID: id, Sign: sign, Hold: &trial.Extent{}, Verdict: trial.Pass, LeakRate: &trial.LeakRate{}, SCCM: &decay.Estimate{}}})
	}, func(now trial.Trial) { hub.Publish(bench.EventTrial, bench.TrialData{Trial: now}) })
	hub.Close()

	var out, said bytes.Buffer
	a := app{out: &out, err: &said}
	c := &holdCounter{cmd: &holdCmd{Holds: holds, JSON: asJSON}, app: a, teller: teller{w: &out}, progress: newProgress(a)}
	ended := 0
	require.NoError(t, c.follow(events, func() { ended++ }))
	assert.Equal(t, 1, ended)
	result, err := c.summary(t.Context())
	require.NoError(t, err)
	assert.Equal(t, done, result)
	return strings.Split(strings.TrimSpace(out.String()), "\n")
}

// bothSigns are holds of two trials; one that the end of the command cut short belongs to
// none that is printed.
func bothSigns(held func(id, sign string), now func(trial.Trial)) {
	held("a", "suction")
	now(trial.Trial{ID: "drawn", Sign: "suction", Holds: 1, Used: 1})
	held("b", "pressure")
	now(trial.Trial{ID: "blown", Sign: "pressure", Holds: 1, Used: 1})
	held("c", "suction")
	now(trial.Trial{ID: "drawn", Sign: "suction", Holds: 2, Used: 2, Notes: []string{"As it was."}})
	held("cut", "suction")
	now(trial.Trial{ID: "drawn", Sign: "suction", Holds: 3})
	now(trial.Trial{ID: "another", Holds: 1})
}

func TestOneTrialIsPrintedForProgramsWhateverTheHoldsWere(t *testing.T) {
	t.Parallel()
	lines := printedOf(t, 3, true, bothSigns)
	require.Len(t, lines, 4, "three holds and one trial")
	var printed trial.Trial
	require.NoError(t, json.Unmarshal([]byte(lines[3]), &printed))
	assert.Equal(t, "drawn", printed.ID, "the one with most holds")
	assert.Equal(t, 3, printed.Holds)
	assert.Equal(t, 2, printed.Used)
	assert.Equal(t, []string{
		"Not all of the 3 holds are alike, so they are 2 trials: this is drawn, of 2 holds in suction.",
		"Not in it: trial blown, of 1 hold in pressure.",
		"As it was.",
	}, printed.Notes)
}

func TestOfTrialsWithAsManyHoldsTheLastIsPrinted(t *testing.T) {
	t.Parallel()
	lines := printedOf(t, 2, true, func(held func(id, sign string), now func(trial.Trial)) {
		held("a", "suction")
		now(trial.Trial{ID: "drawn", Sign: "suction", Holds: 1, Used: 1, Verdict: trial.Pass})
		held("b", "pressure")
		now(trial.Trial{ID: "blown", Sign: "pressure", Holds: 1, Used: 1, Verdict: trial.Fail})
	})
	require.Len(t, lines, 3)
	assert.Contains(t, lines[2], `"holds":2,"used":1,"id":"blown"`)
	assert.Contains(t, lines[2], "Not in it: trial drawn, of 1 hold in suction: pass.")
}

func TestEachTrialIsPrintedForPeople(t *testing.T) {
	t.Parallel()
	text := strings.Join(printedOf(t, 3, false, bothSigns), "\n")
	assert.Contains(t, text, "trial of 2 holds")
	assert.Contains(t, text, "trial of 1 hold:")
	assert.Contains(t, text, "  trial          drawn\n")
	assert.Contains(t, text, "  trial          blown")
}
