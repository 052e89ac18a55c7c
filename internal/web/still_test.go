package web_test

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
)

// places are those of the answer as it comes and of what stands beside and below it; its unit
// stands beside it where there is room for that.
const places = `["value", innerWidth > 600 ? "unit" : "value", "next", "tide", "holds"].map((id) => {
	const box = document.getElementById(id).getBoundingClientRect();
	return id + " " + Math.round(box.left) + "," + Math.round(box.top + scrollY);
}).join("; ")`

// longRule is as long as that which the program applies.
const longRule = "pass when the probability that the leakage rate is at or below the limit is at least 0.95, fail when the probability that it is above is at least 0.95, " +
	"else inconclusive (after JCGM 106:2012, 7 and 8); so the risk of a wrong pass or a wrong fail is at most 5 %"

func TestNothingMovesWhileAJointIsHeld(t *testing.T) {
	ctx := browser(t)
	for name, size := range map[string][2]int64{"laptop": {1280, 800}, "tablet": {768, 1024}, "telephone": {390, 844}} {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(size[0], size[1])))
			f := newFake()
			f.whole(2.31, 0.04, 14, trial.Pass)
			reload(t, ctx, f)
			f.rest(2)
			f.draw()
			until(t, ctx, says+`"shut the valve"`)
			f.phase("settling")
			until(t, ctx, says+`"settling"`)
			at, err := chromedp.Run(ctx, chromedp.Evaluate[string](places))
			require.NoError(t, err)
			for _, answer := range []struct {
				q, u, held float64
				shown      string
				verdict    trial.Verdict
			}{{2.5, 0.9, 2, "2.5", trial.Inconclusive}, {2.44, 0.21, 4, "2.44", trial.Inconclusive}, {2.163, 0.022, 9, "2.163", trial.Pass}} {
				f.hold(answer.q, answer.u, answer.held, answer.verdict)
				var told bench.EstimateData
				f.change(func(s *bench.Snapshot) {
					e := s.Gauges[0].Estimate
					e.Outcome.Decision.Rule = longRule
					e.Outcome.Decision.Wait = 14
					told = *e
				})
				f.Publish(bench.EventEstimate, told)
				until(t, ctx, `document.getElementById("value").textContent.startsWith("`+answer.shown+`")`)
				now, err := chromedp.Run(ctx, chromedp.Evaluate[string](places))
				require.NoError(t, err)
				assert.Equal(t, at, now, "after %g s, %s", answer.held, answer.verdict)
			}
		})
	}
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateReset()))
}
