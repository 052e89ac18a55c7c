package web_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
)

func TestTheBudgetIsShownAsBars(t *testing.T) {
	f := newFake()
	f.whole(2.16, 0.022, 9, trial.Pass)
	part := get(t, f, "/parts/holds").Body.String()
	assert.Contains(t, part, "What the last hold’s uncertainty is made of")
	assert.NotContains(t, part, "What the trial’s", "of one hold it would be the same again")
	// Of the variance 0.8² and 0.6²; the third line is hardly there.
	widths := regexp.MustCompile(`<rect width="([^"]*)"`).FindAllStringSubmatch(part, -1)
	require.Len(t, widths, 2)
	assert.Equal(t, "64.0", widths[0][1])
	assert.Equal(t, "36.0", widths[1][1])
	said := words(part)
	assert.Contains(t, said, "volume 64 % u 0.8 %")
	assert.Contains(t, said, "noise 36 % u 0.6 %")
	assert.Contains(t, said, "All others together: < 0.1 % of the variance.")
	assert.Contains(t, said, "Do first , about volume: measure the volume by a syringe step or a reference leak.")

	f.whole(2.17, 0.022, 9, trial.Pass)
	assert.Contains(t, get(t, f, "/").Body.String(), "What the trial’s uncertainty is made of", "without script too")
}

func TestWithoutABudgetNothingIsShown(t *testing.T) {
	f := newFake()
	assert.NotContains(t, get(t, f, "/").Body.String(), "uncertainty is made of")
	f.whole(2.16, 0.022, 9, trial.Pass)
	f.change(func(s *bench.Snapshot) { s.Holds[0].Budget, s.Gauges[0].Trial.Budget = nil, nil })
	assert.NotContains(t, get(t, f, "/").Body.String(), "uncertainty is made of")
}

func TestADisturbedHoldIsListedWithWhatCounts(t *testing.T) {
	f := newFake()
	f.disturbed(4.21)
	part := get(t, f, "/parts/holds").Body.String()
	said := words(part)
	assert.Contains(t, said, "pass up to 4.2 s, then disturbed 2.160 ± 0.044 sccm")
	assert.Less(t, strings.Index(said, "A leak opened."), strings.Index(said, "Much was assumed."))
	assert.Contains(t, part, "<summary>2 more</summary>", "what presses less is folded away")
}
