package web_test

import (
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
)

func TestNothingGlidesForWhoAsksForLessMotion(t *testing.T) {
	ctx := browser(t)
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}})
	require.NoError(t, err)
	f := newFake()
	reload(t, ctx, f)
	f.rest(3)
	f.draw()
	f.hold(2.16, 0.022, 7.5, trial.Inconclusive)
	until(t, ctx, `document.getElementById("value").textContent === "2.160"`)
	gliding, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll("*")].filter((e) => {
		const style = getComputedStyle(e);
		return style.animationName !== "none" || style.transitionDuration.split(", ").some((s) => parseFloat(s) > 0) || style.scrollBehavior === "smooth";
	}).map((e) => e.localName + "#" + e.id)`))
	require.NoError(t, err)
	assert.Empty(t, gliding)
	running, err := chromedp.Run(ctx, chromedp.Evaluate[int](`document.getAnimations().length`))
	require.NoError(t, err)
	assert.Zero(t, running)
}

func TestPhasesAndVerdictsAreSaidToWhoListens(t *testing.T) {
	ctx := browser(t)
	f := newFake()
	reload(t, ctx, f)
	aloud := `document.querySelector('[role="status"][aria-live="polite"]').textContent`
	f.rest(1)
	f.draw()
	until(t, ctx, aloud+` === "drawing"`)
	f.hold(2.16, 0.022, 7.5, trial.Inconclusive)
	until(t, ctx, aloud+` === "holding"`)
	f.whole(2.16, 0.022, 9, trial.Pass)
	until(t, ctx, aloud+`.startsWith("pass: 2.160 plus or minus")`)
	f.whole(12.4, 0.31, 8, trial.Fail)
	until(t, ctx, aloud+`.startsWith("fail: 12.40 plus or minus")`)
}
