package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/bench"
	"boretight/internal/bench/guided"
)

func TestItIsSaidOnceAHoldWhenToMoveThePlunger(t *testing.T) {
	t.Parallel()
	var b strings.Builder
	talk := &talk{progress: &progress{w: &b}}
	talk.await(guided.Moment{After: 8, Text: "Now pull."})
	for range 2 {
		talk.event(bench.Event{Data: bench.StateData{Up: true, Phase: "holding"}})
		for _, held := range []float64{7, 8, 9} {
			talk.event(bench.Event{Data: bench.EstimateData{Held: held}})
		}
		talk.event(bench.Event{Data: bench.StateData{Up: true, Phase: "rest"}})
	}
	assert.Equal(t, 2, strings.Count(b.String(), "Now pull."))
}
