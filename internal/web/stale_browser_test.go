package web_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
)

// TestTheLivePageShowsNoVerdictOfSomethingElse does what a hasty repairer does: steps on
// while the hold that ended just now is still being judged.
func TestTheLivePageShowsNoVerdictOfSomethingElse(t *testing.T) {
	ctx := browser(t)
	f := newFake()
	f.rest(2)
	reload(t, ctx, f)
	before := f.whole(2.16, 0.022, 9, trial.Pass)
	until(t, ctx, says+`"pass"`)

	t.Run("what is stepped on to has none", func(t *testing.T) {
		f.change(func(s *bench.Snapshot) { s.Gauges[0].Setup.When = "as_left"; s.Gauges[0].Trial = nil })
		f.state(func(s *bench.StateData) { s.Series++ })
		until(t, ctx, says+`"rest" && document.getElementById("whenleft").textContent === "as left"`)
		late := before
		late.ID = "late"
		f.change(func(s *bench.Snapshot) { s.Holds = append([]bench.HoldData{late}, s.Holds...) })
		f.Publish(bench.EventHold, late)
		until(t, ctx, `document.getElementById("aloud").textContent === "oboe upper, as found: pass: 2.160 plus or minus 0.044 sccm"`)
		assert.Equal(t, "rest", text(t, ctx, "state"))
		assert.Empty(t, text(t, ctx, "verdict"))
	})
	t.Run("one that was set aside unheard goes with the next answer", func(t *testing.T) {
		f.whole(2.2, 0.05, 6, trial.Pass)
		until(t, ctx, says+`"pass"`)
		f.change(func(s *bench.Snapshot) { s.Holds[0].Voided = "bumped" })
		f.Publish(bench.EventHold, before) // of anything: the page asks then
		until(t, ctx, says+`"rest"`)
	})
	t.Run("one whose change was not heard of goes with the next look", func(t *testing.T) {
		f.whole(2.2, 0.05, 6, trial.Pass)
		until(t, ctx, says+`"pass"`)
		f.change(func(s *bench.Snapshot) { s.Gauges[0].Setup.Joint = "lower" })
		until(t, ctx, says+`"rest" && document.getElementById("subject").textContent === "oboe lower"`)
	})
	require.Regexp(t, `^hold ended 2 Mar 10:2\d:\d\d, oboe upper, as left$`, func() string {
		f.change(func(s *bench.Snapshot) { s.Gauges[0].Setup.Joint = "upper" })
		until(t, ctx, `document.getElementById("subject").textContent === "oboe upper"`)
		f.whole(2.2, 0.05, 6, trial.Pass)
		until(t, ctx, says+`"pass"`)
		return text(t, ctx, "when")
	}(), "with its date")
}
