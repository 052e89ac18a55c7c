package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
)

// Holds of both signs make two trials, and a hold that the end of the command cut short
// belongs to none that is printed.
func TestEachTrialOfTheHoldsPrintedIsPrintedOnce(t *testing.T) {
	t.Parallel()
	hub := bench.NewHub(100)
	events := hub.Subscribe(100)
	held := func(id string) {
		hub.Publish(bench.EventHold, bench.HoldData{Outcome: trial.Outcome{ID: id, Hold: &trial.Extent{}, Verdict: trial.Pass, LeakRate: &trial.LeakRate{}}})
	}
	now := func(id string, holds int) { hub.Publish(bench.EventTrial, trial.Trial{ID: id, Holds: holds}) }
	held("a")
	now("suction", 1)
	held("b")
	now("pressure", 1)
	hub.Publish(bench.EventHold, bench.HoldData{Outcome: trial.Outcome{ID: "no hold"}})
	held("c")
	now("suction", 2)
	held("cut")
	now("suction", 3)
	now("another", 1)
	hub.Close()

	var out, said bytes.Buffer
	a := app{out: &out, err: &said}
	c := &holdCounter{cmd: &holdCmd{Holds: 3, JSON: true}, app: a, teller: teller{w: &out}, progress: newProgress(a)}
	ended := 0
	require.NoError(t, c.follow(events, func() { ended++ }))
	assert.Equal(t, 1, ended)
	result, err := c.summary(t.Context())
	require.NoError(t, err)
	assert.Equal(t, done, result)
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	require.Len(t, lines, 5)
	assert.Contains(t, lines[3], `"holds":2,"used":0,"id":"suction"`)
	assert.Contains(t, lines[4], `"holds":1,"used":0,"id":"pressure"`)
}
