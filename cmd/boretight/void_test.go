package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// seeded returns a shop with one ticket's two trials, the newest first.
func seeded(t *testing.T) (b *book, path string, trials []ledger.TrialEntry) {
	t.Helper()
	b, path = openShop(t)
	_, err := seedTickets[0].seed(t.Context(), b, seedRandom())
	require.NoError(t, err)
	trials, err = b.store.Trials(t.Context(), ledger.Filter{})
	require.NoError(t, err)
	require.Len(t, trials, 2)
	return b, path, trials
}

func TestAHoldSetAsideIsLeftOutOfItsTrialForGood(t *testing.T) {
	t.Parallel()
	b, path, before := seeded(t)
	void := func(args ...string) result {
		return runHere(t.Context(), "", append([]string{"void", "--ledger", path}, args...)...)
	}
	first := before[0].Holds[0]
	r := void(first, "--reason", " a finger\n slipped ", "--json")
	require.Equal(t, done, r.status, r.err)
	var line voidLine
	require.NoError(t, json.Unmarshal([]byte(r.out), &line))
	assert.Equal(t, "boretight/void/1", line.Schema)
	assert.Equal(t, first, line.Hold)
	assert.Equal(t, "a finger slipped", line.Reason)
	require.Len(t, line.Trials, 1, "the other trial has nothing to do with it")
	assert.Equal(t, before[0].ID, line.Trials[0].ID)
	assert.Equal(t, 2, line.Trials[0].Used)
	assert.Contains(t, line.Trials[0].Notes, "1 of 3 holds were set aside and do not count.")

	now, err := b.store.FindTrial(t.Context(), before[0].ID)
	require.NoError(t, err)
	assert.Equal(t, line.Trials[0], now.Result, "it is recorded anew, not only printed")
	assert.Equal(t, before[0].Holds, now.Holds, "with all its holds, one of which is marked")
	assert.Equal(t, before[0].Result.Decision.From, now.Result.Decision.From)
	assert.NotEqual(t, before[0].Result.LeakRate, now.Result.LeakRate)

	r = void("last", "--reason", "the hose was bumped")
	require.Equal(t, done, r.status, r.err)
	assert.Contains(t, r.out, "is set aside: the hose was bumped\n")
	assert.Regexp(t, "trial "+before[0].ID+", judged again by 1 of 3 holds: [A-Z]+: .* sccm", r.out)
	now, err = b.store.FindTrial(t.Context(), before[0].ID)
	require.NoError(t, err)
	assert.Equal(t, 1, now.Result.Used)
	assert.NotContains(t, now.Result.Notes, "1 of 3 holds were set aside and do not count.", "said once, as it is now")

	r = void(before[0].Holds[1][:30], "--reason", "so was the third")
	require.Equal(t, done, r.status, r.err)
	assert.Contains(t, r.out, "judged again by 0 of 3 holds: no leakage rate")
	report, err := b.store.Check(t.Context())
	require.NoError(t, err)
	assert.True(t, report.OK, report.FirstFault)
	assert.EqualValues(t, 6, report.Holds, "nothing is deleted")
	listed := runHere(t.Context(), "", "holds", "--ledger", path)
	assert.Equal(t, 3, strings.Count(listed.out, "set aside"), listed.out)
	listed = runHere(t.Context(), "", "trials", "--ledger", path)
	assert.Contains(t, listed.out, "0 of 3 holds, no leakage rate")
	assert.Contains(t, listed.out, ", 3 holds, ")
}

func TestWhatCannotBeSetAsideIsRefused(t *testing.T) {
	t.Parallel()
	b, path, trials := seeded(t)
	hold := trials[0].Holds[0]
	require.NoError(t, b.writer.BeginHold(ledger.Begin{ID: ledger.NewID(), Gauge: "bench"}))
	count := func() int64 {
		n, err := b.store.Count(t.Context())
		require.NoError(t, err)
		return n
	}
	require.Eventually(t, func() bool {
		newest, err := b.store.Holds(t.Context(), ledger.Filter{Limit: 1})
		return err == nil && newest[0].Ended.IsZero()
	}, 5*time.Second, 10*time.Millisecond)
	before := count()
	for _, c := range []struct {
		args []string
		want status
		says string
	}{
		{[]string{hold}, usage, "--reason"},
		{[]string{hold, "--reason", " \t"}, usage, "--reason: it is empty: say why the hold does not count"},
		{[]string{hold, "--reason", strings.Repeat("a", 501)}, usage, "at most 500 are kept"},
		{[]string{"--reason", "a finger slipped"}, usage, ""},
		{[]string{"ffffffff", "--reason", "a finger slipped"}, failed, "not in the ledger"},
		{[]string{"0", "--reason", "a finger slipped"}, failed, "several begin with that"},
		{[]string{"last", "--reason", "a finger slipped"}, failed, "it is still being measured"},
	} {
		r := runHere(t.Context(), "", append([]string{"void", "--ledger", path}, c.args...)...)
		assert.Equal(t, c.want, r.status, c.args)
		assert.Contains(t, r.err, c.says)
		assert.Empty(t, r.out)
	}
	assert.Equal(t, before, count(), "nothing was recorded")

	nowhere := filepath.Join(t.TempDir(), "none.boretight")
	r := runHere(t.Context(), "", "void", "last", "--reason", "a finger slipped", "--ledger", nowhere)
	assert.Equal(t, failed, r.status)
	assert.NoFileExists(t, nowhere, "no ledger is made")

	_, err := voidHold(t.Context(), b.store, hold, "a finger slipped")
	require.NoError(t, err)
	_, err = voidHold(t.Context(), b.store, hold, "once more")
	require.ErrorIs(t, err, errVoided)
	assert.Regexp(t, `set aside before, on \d+ \w+ \d{4} \d\d:\d\d: a finger slipped$`, err.Error())
	r2, err := recordsOf(t.Context(), b.store, hold)
	require.NoError(t, err)
	assert.Equal(t, "a finger slipped", r2.aside.Reason)
	records, err := b.store.Records(t.Context(), ledger.HoldVoid)
	require.NoError(t, err)
	var v ledger.Void
	require.NoError(t, json.Unmarshal(records[0].Content, &v))
	require.NoError(t, b.store.Erase(t.Context(), v.Reason.ID))
	_, err = voidHold(t.Context(), b.store, hold, "once more")
	require.ErrorIs(t, err, errVoided)
	assert.ErrorContains(t, err, "for a reason that was erased")
}

// What is computed from many trials leaves out what was set aside, also once the trials
// were recorded anew.
func TestWhatWasSetAsideCountsNowhere(t *testing.T) {
	t.Parallel()
	b, path, before := seeded(t)
	left := before[0]
	known := func() trial.Repeatability {
		now := left.Trial
		now.ID = ledger.NewID()
		r, err := (&trialBook{book: b}).Known(t.Context(), now)
		require.NoError(t, err)
		return r
	}
	compared := func() result {
		return runHere(t.Context(), "", "compare", "--ticket", "T-1001", "--ledger", path, "--json")
	}
	proposed := func() result {
		return runHere(t.Context(), "", "limit", "propose", "oboe/upper", "--closure", left.Closure, "--sign", left.Result.Sign, "--ledger", path)
	}
	require.Positive(t, known().Holds.Dof)
	require.Contains(t, proposed().err, "from 1 passed joint")
	was := compared()

	_, err := voidHold(t.Context(), b.store, left.Holds[0], "a finger slipped")
	require.NoError(t, err)
	assert.Zero(t, known().Holds.Dof, "a trial that lost a hold tells nothing of the rig")
	now := compared()
	require.Equal(t, done, now.status, now.err)
	assert.NotEqual(t, was.out, now.out)
	assert.Contains(t, proposed().err, "from 1 passed joint")

	for _, id := range left.Holds[1:] {
		_, err := voidHold(t.Context(), b.store, id, "a finger slipped")
		require.NoError(t, err)
	}
	assert.Equal(t, failed, compared().status)
	assert.Contains(t, proposed().err, "from 0 passed joints")
}

// A trial recorded anew is what would be computed each time without that.
func TestATrialIsJudgedAgainAsListsWould(t *testing.T) {
	t.Parallel()
	b, _, before := seeded(t)
	_, err := b.store.Append(t.Context(), ledger.VoidDraft(before[0].Holds[1], "a finger slipped"))
	require.NoError(t, err)
	computed, err := withoutVoided(t.Context(), b.store, before[0].Trial)
	require.NoError(t, err)
	again, has, err := judgeAgain(t.Context(), b.store, before[0].ID, before[0].Holds[1])
	require.NoError(t, err)
	assert.True(t, has)
	assert.Equal(t, computed, again.Result)
	listed, err := withoutVoided(t.Context(), b.store, again)
	require.NoError(t, err)
	assert.Equal(t, again.Result, listed)
	_, has, err = judgeAgain(t.Context(), b.store, before[1].ID, before[0].Holds[1])
	require.NoError(t, err)
	assert.False(t, has, "another trial")
}
