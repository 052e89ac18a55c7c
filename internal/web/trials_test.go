package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
	"boretight/internal/web"
)

// twoTrials are of one joint, as found and as left.
func twoTrials(t *testing.T) *fakeRecords {
	t.Helper()
	return &fakeRecords{
		trials: []web.WholeTrial{measuredTrial(t, "left", "as_left", 1.2, trial.Pass), measuredTrial(t, "found", "as_found", 7, trial.Fail)},
		pairs:  []web.Pair{{Of: "clarinet/upper", Found: "found", Left: "left"}},
	}
}

func TestTrialsAreListed(t *testing.T) {
	records := twoTrials(t)
	w := ask(t, siteOf(t, records, nil), "/trials?when=as_left&words=clarinet")
	assert.Equal(t, web.Sought{Words: "clarinet", When: "as_left", Limit: 26}, records.asked)
	text := words(w.Body.String())
	assert.Contains(t, text, "2 Mar 2026 11:00:00 2 holds clarinet, upper as left T-1001 pass 1.200 ± 0.048 sccm")
	assert.Contains(t, text, "fail 7.00 ± 0.28 sccm")
	assert.Contains(t, text, "Rule: pass when")
}

func TestATrialShowsItsHoldsAndMarksThoseSetAside(t *testing.T) {
	records := twoTrials(t)
	records.trials[0].Members[1].Aside = &web.Aside{Reason: "finger slipped"}
	records.trials[0].Result.Used, records.trials[0].Result.Holds = 1, 1
	page := ask(t, siteOf(t, records, nil), "/trials/left").Body.String()
	text := words(page)
	assert.Contains(t, text, "pass 1.200 ± 0.048 sccm")
	assert.Contains(t, text, "Limit 2.5 sccm at 2.50 kPa suction, P(within) > 0.999. Rule: pass when")
	assert.Contains(t, text, "2 holds, 1 used")
	assert.Contains(t, text, "set aside 1.200 ± 0.048 sccm finger slipped")
	assert.Contains(t, page, `href="/compare?found=found&amp;left=left"`)
	assert.Equal(t, 2, strings.Count(page, `class="line" d="M`), "a small tide for each hold")
	assert.Contains(t, text, "The holds of the trial over one another")
}

func TestATrialWithoutHoldsThatCountHasNoVerdict(t *testing.T) {
	records := twoTrials(t)
	records.trials[0].Result = trial.Trial{}
	site := siteOf(t, records, nil)
	assert.Contains(t, words(ask(t, site, "/trials/left").Body.String()), "All holds of this trial were set aside.")
	assert.Contains(t, words(ask(t, site, "/trials").Body.String()), "all holds were set aside")
}

func TestAsFoundStandsBesideAsLeft(t *testing.T) {
	text := words(ask(t, siteOf(t, twoTrials(t), nil), "/compare?found=found&left=left").Body.String())
	for _, want := range []string{"as found 7.00 ± 0.28 sccm", "fail limit 2.5 sccm at 2.50 kPa", "as left 1.200 ± 0.048 sccm", "change 5.83 times tighter 95 % interval",
		"Rule: pass when", "volume: common, the same figure was told", "clarinet, upper"} {
		assert.Contains(t, text, want)
	}
}

func TestWhatCannotBeComparedSaysWhy(t *testing.T) {
	records := twoTrials(t)
	site := siteOf(t, records, nil)
	for path, want := range map[string]string{
		"/compare":                      "Nothing to compare.",
		"/compare?found=left&left=left": "These two cannot be compared.",
		"/compare?found=no&left=left":   "There is no such trial.",
		"/trials/no":                    "There is no such trial.",
	} {
		w := ask(t, site, path)
		assert.Equal(t, http.StatusNotFound, w.Code, path)
		assert.Contains(t, words(w.Body.String()), want, path)
	}
	records.fault = fmt.Errorf("compare as found with as left: %w: the sign differs", trial.ErrUnlike)
	assert.Contains(t, words(ask(t, site, "/compare?found=found&left=left").Body.String()), "the sign differs")
}

func TestATicketLeadsToItsComparison(t *testing.T) {
	records := twoTrials(t)
	site := siteOf(t, records, nil)
	w := ask(t, site, "/tickets/T-1001/compare?joint=clarinet/upper")
	require.Equal(t, http.StatusSeeOther, w.Code)
	assert.Equal(t, "/compare?found=found&left=left", w.Header().Get("Location"))

	records.pairs = nil
	text := words(ask(t, site, "/tickets/T-1001/compare").Body.String())
	assert.Contains(t, text, "nothing to compare yet")
	assert.Contains(t, text, "oboe/lower has no trial as left.")
}
