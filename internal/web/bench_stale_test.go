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

// standing returns the word in huge letters and the list of holds of the bench's page.
func standing(t *testing.T, f *fakeBench) (word, listed string) {
	t.Helper()
	page := get(t, f, "/").Body.String()
	state := regexp.MustCompile(`<span id="state">([^<]*)</span>`).FindStringSubmatch(page)
	rows := regexp.MustCompile(`(?s)<tbody>(.*)</tbody>`).FindStringSubmatch(page)
	require.Len(t, state, 2)
	require.Len(t, rows, 2)
	return state[1], rows[1]
}

func TestAHoldThatWasSetAsideCountsNoMoreOnTheBench(t *testing.T) {
	f := newFake()
	f.whole(3.2, 0.1, 6, trial.Fail)
	f.whole(2.16, 0.022, 9, trial.Pass)
	f.change(func(s *bench.Snapshot) { s.Holds[0].Voided = "key moved" })
	word, listed := standing(t, f)
	assert.Equal(t, "rest", word, "neither the verdict that was set aside nor an older one in its place")
	first, rest, _ := strings.Cut(listed, "</tr>")
	assert.Contains(t, first, `class="voided"`)
	assert.Contains(t, words(first), "set aside key moved was: pass")
	assert.NotContains(t, first, `class="shape pass"`)
	assert.NotContains(t, rest, "voided")
}

func TestAJointPutOnTheBenchOnceMoreHasNoVerdictYet(t *testing.T) {
	f := newFake()
	f.whole(2.16, 0.022, 9, trial.Pass)
	word, _ := standing(t, f)
	require.Equal(t, "pass", word)
	f.change(func(s *bench.Snapshot) { s.Gauges[0].Series++; s.Gauges[0].Trial = nil })
	word, listed := standing(t, f)
	assert.Equal(t, "rest", word)
	assert.Contains(t, words(listed), "pass", "it stays in the list")
}
