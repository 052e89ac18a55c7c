package main

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/ledger"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// openShop returns an open ledger of its own and its path.
func openShop(t *testing.T) (*book, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.boretight")
	b, err := openBook(t.Context(), path, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, b.close()) })
	return b, path
}

// asLeft is a trial of a joint that leaks so much.
func asLeft(ticket string, rate float64) ledger.Trial {
	return ledger.Trial{
		ID: ledger.NewID(), Instrument: "oboe", Joint: "upper", Of: "oboe/upper", When: "as_left", Ticket: ticket,
		Rig: rig.Identity{Gauge: "HX-1"},
		Result: trial.Trial{
			Schema: trial.SchemaTrial, Sign: "suction", At: 2500, Verdict: trial.Pass,
			LeakRate:      &trial.LeakRate{Estimate: decay.Estimate{Value: rate, U: rate / 50}},
			Repeatability: &trial.Repeatability{Holds: trial.Scatter{U: 1e-5, Dof: 2}},
		},
	}
}

func keep(t *testing.T, b *book, trials ...ledger.Trial) {
	t.Helper()
	for _, one := range trials {
		_, err := b.store.Append(t.Context(), one.Draft())
		require.NoError(t, err)
	}
}

func TestWhatEarlierTrialsOfTheSameRigSawIsKnown(t *testing.T) {
	t.Parallel()
	b, _ := openShop(t)
	now := asLeft("T-9", 2e-3)
	like, farther := asLeft("T-1", 1e-3), asLeft("T-2", 3e-3)
	farther.Result.Repeatability.Holds = trial.Scatter{U: 2e-5, Dof: 2}
	strangers := []ledger.Trial{asLeft("T-3", 0.2e-3), asLeft("T-4", 2e-3), asLeft("T-5", 2e-3), asLeft("T-6", 2e-3), asLeft("T-7", 2e-3)}
	for i := range strangers {
		strangers[i].Result.Repeatability.Holds.U = 1
	}
	strangers[1].Rig.Gauge = "HX-2"
	strangers[2].Result.Sign = "pressure"
	strangers[3].Result.At = 1000
	strangers[4].Result.Repeatability = nil
	keep(t, b, strangers...)
	keep(t, b, like, farther)

	trials := &trialBook{book: b}
	known, err := trials.Known(t.Context(), now)
	require.NoError(t, err)
	assert.Equal(t, 4.0, known.Holds.Dof)
	assert.InDelta(t, 1.5811e-5, known.Holds.U, 1e-9, "√((1² + 2²)/2)")

	require.NoError(t, trials.Keep(t.Context(), now))
	known, err = trials.Known(t.Context(), now)
	require.NoError(t, err)
	assert.Equal(t, 4.0, known.Holds.Dof, "a trial tells nothing of itself")
	known, err = trials.Known(t.Context(), asLeft("T-10", 2e-3))
	require.NoError(t, err)
	assert.Equal(t, 6.0, known.Holds.Dof, "but of the next")

	bare := asLeft("T-11", 2e-3)
	bare.Rig = rig.Identity{}
	known, err = trials.Known(t.Context(), bare)
	require.NoError(t, err)
	assert.Equal(t, trial.Repeatability{}, known)
}

func TestAGaugeWithoutASerialNumberIsNotTakenForTheSame(t *testing.T) {
	t.Parallel()
	b, _ := openShop(t)
	trials := &trialBook{book: b}
	unnamed := func(ticket string) ledger.Trial {
		one := asLeft(ticket, 2e-3)
		one.Rig, one.Unnamed = rig.Identity{Gauge: "bench"}, true
		return one
	}
	keep(t, b, unnamed("T-1"))
	known, err := trials.Known(t.Context(), unnamed("T-2"))
	require.NoError(t, err)
	assert.Equal(t, trial.Repeatability{}, known, "any gauge may be behind that address")

	parts := unnamed("T-3")
	parts.Rig.Hose, parts.Rig.Stoppers = "clear", "A"
	keep(t, b, parts)
	now := unnamed("T-4")
	now.Rig = parts.Rig
	known, err = trials.Known(t.Context(), now)
	require.NoError(t, err)
	assert.Equal(t, 2.0, known.Holds.Dof, "hose and stoppers were named")

	named := asLeft("T-5", 2e-3)
	named.Rig = rig.Identity{Gauge: "bench"}
	known, err = trials.Known(t.Context(), named)
	require.NoError(t, err)
	assert.Equal(t, trial.Repeatability{}, known, "a serial number that reads like an address is none")
}

func TestATrialThatLostAHoldTellsNothingMoreOfTheRig(t *testing.T) {
	t.Parallel()
	b, _ := openShop(t)
	_, err := seedTickets[0].seed(t.Context(), b, seedRandom())
	require.NoError(t, err)
	entries, err := b.store.Trials(t.Context(), ledger.Filter{Limit: 1})
	require.NoError(t, err)
	now := entries[0].Trial
	now.ID = ledger.NewID()
	trials := &trialBook{book: b}
	known, err := trials.Known(t.Context(), now)
	require.NoError(t, err)
	require.Positive(t, known.Holds.Dof)
	_, err = b.store.Append(t.Context(), ledger.VoidDraft(now.Holds[0], "a finger slipped, as was seen later"))
	require.NoError(t, err)
	known, err = trials.Known(t.Context(), now)
	require.NoError(t, err)
	assert.Zero(t, known.Holds.Dof)
}

func TestALimitIsProposedFromTheShopsPassedJoints(t *testing.T) {
	t.Parallel()
	b, path := openShop(t)
	propose := func(more ...string) result {
		return runHere(t.Context(), "", append([]string{"limit", "propose", "oboe/upper", "--json", "--ledger", path}, more...)...)
	}
	for i := range 9 {
		keep(t, b, asLeft(fmt.Sprintf("T-%d", i), 1e-3+1e-5*float64(i)))
	}
	found, failing, lower, pressed, section := asLeft("T-20", 9e-3), asLeft("T-21", 9e-3), asLeft("T-22", 9e-3), asLeft("T-23", 9e-3), asLeft("T-24", 9e-3)
	found.When, failing.Result.Verdict = "as_found", trial.Fail
	lower.Joint, lower.Of = "lower", "oboe/lower"
	pressed.Result.Sign, section.Section = "pressure", "top"
	again := asLeft("T-8", 1.2e-3) // the same ticket once more: the later trial counts
	keep(t, b, found, failing, lower, pressed, section, again)
	r := propose()
	assert.Equal(t, failed, r.status)
	assert.Contains(t, r.err, "propose limit from 9 passed joints: too few joints: at least 10 are needed")
	assert.Contains(t, r.err, "1 trial as left in pressure was not; --sign pressure looks at those")

	none := asLeft("T-30", 1.5e-3)
	none.Result.Verdict = trial.None // no limit was there yet
	keep(t, b, none)
	r = propose()
	require.Equal(t, done, r.status, r.err)
	var p proposalLine
	require.NoError(t, json.Unmarshal([]byte(r.out), &p))
	assert.Equal(t, "boretight/limit/1", p.Schema)
	assert.Equal(t, 10, p.Joints)
	assert.Equal(t, "oboe/upper", p.Joint)
	assert.GreaterOrEqual(t, p.Limit, 1.5e-3)
	assert.Less(t, p.Limit, 5e-3, "nothing that failed or is another joint's raised it")

	other := asLeft("T-31", 1e-3)
	other.Closure = "G pressed"
	keep(t, b, other)
	r = propose()
	assert.NotEqual(t, done, r.status)
	assert.Contains(t, r.err, "choose one with --closure")
	r = propose("--closure", "G pressed")
	assert.Contains(t, r.err, "from 1 passed joint")
}

func TestALimitIsOfASectionAndAClosure(t *testing.T) {
	t.Parallel()
	b, path := openShop(t)
	boretight := func(args ...string) result {
		return runHere(t.Context(), "", append(args, "--ledger", path)...)
	}
	for _, args := range [][]string{
		{"limit", "set", "oboe/upper", "2.5sccm"},
		{"limit", "set", "oboe/upper", "0.8sccm", "--section", "bell", "--closure", "G pressed"},
	} {
		require.Equal(t, done, boretight(args...).status)
	}
	listed := boretight("limit", "list").out
	assert.Contains(t, listed, "oboe/upper: at most 2.5 sccm in suction", "the one of a section does not stand in its place")
	assert.Contains(t, listed, `oboe/upper, section "bell", closure "G pressed": at most 0.8 sccm in suction`)

	for i := range 10 {
		one := asLeft(fmt.Sprintf("T-%d", i), 1e-3+1e-5*float64(i))
		one.Section = "bell"
		keep(t, b, one)
	}
	r := boretight("limit", "propose", "oboe/upper")
	assert.Contains(t, r.err, "from 0 passed joints", "no section tells of the whole joint")
	r = boretight("limit", "propose", "oboe/upper", "--section", "bell")
	assert.Equal(t, done, r.status, r.err)
	assert.Contains(t, r.out, `oboe/upper, section "bell", suction at 2.5 kPa: `)
}

// A hold that was set aside after its trial was recorded counts in nothing that is
// computed later.
func TestWhatWasSetAsideIsLeftOut(t *testing.T) {
	t.Parallel()
	b, path := openShop(t)
	_, err := seedTickets[0].seed(t.Context(), b, seedRandom())
	require.NoError(t, err)
	entries, err := b.store.Trials(t.Context(), ledger.Filter{})
	require.NoError(t, err)
	require.Len(t, entries, 2)
	for _, id := range entries[0].Holds[:2] {
		_, err := b.store.Append(t.Context(), ledger.VoidDraft(id, "a finger slipped"))
		require.NoError(t, err)
	}
	listed := runHere(t.Context(), "", "trials", "--ledger", path)
	assert.Contains(t, strings.Split(listed.out, "\n")[0], "1 of 3 holds,")
	compared := runHere(t.Context(), "", "compare", "--ticket", "T-1001", "--ledger", path)
	assert.Equal(t, done, compared.status, compared.err)

	now, err := withoutVoided(t.Context(), b.store, entries[0].Trial)
	require.NoError(t, err)
	assert.Equal(t, 1, now.Used)
	assert.Contains(t, now.Notes, "2 of 3 holds were set aside and do not count.")
	assert.Equal(t, entries[0].ID, now.ID)
	assert.NotEqual(t, trial.None, now.Verdict, "the limit of then still counts")

	_, err = b.store.Append(t.Context(), ledger.VoidDraft(entries[0].Holds[2], "and again"))
	require.NoError(t, err)
	compared = runHere(t.Context(), "", "compare", "--ticket", "T-1001", "--ledger", path)
	assert.Equal(t, failed, compared.status)
	assert.Contains(t, compared.err, "as left: no leakage rate to compare")
}

// A trial made again from its holds' records under its own terms is what it was: nothing
// that counted is lost on the way.
func TestATrialMadeAgainIsWhatItWas(t *testing.T) {
	t.Parallel()
	b, _ := openShop(t)
	for _, ticket := range seedTickets[:2] {
		_, err := ticket.seed(t.Context(), b, seedRandom())
		require.NoError(t, err)
	}
	entries, err := b.store.Trials(t.Context(), ledger.Filter{})
	require.NoError(t, err)
	require.Len(t, entries, 4)
	for _, e := range entries {
		again, err := without(t.Context(), b.store, e.Trial, nil)
		require.NoError(t, err)
		assert.ElementsMatch(t, append(e.Result.Notes, "0 of 3 holds were set aside and do not count."), again.Notes)
		again.Notes = e.Result.Notes
		assert.Equal(t, e.Result, again)
	}

	plain := *entries[0].Terms
	made := func(change func(*ledger.TrialTerms)) trial.Trial {
		one, terms := entries[0].Trial, plain
		change(&terms)
		one.Terms = &terms
		again, err := without(t.Context(), b.store, one, nil)
		require.NoError(t, err)
		return again
	}
	as := made(func(*ledger.TrialTerms) {})
	assert.Greater(t, made(func(now *ledger.TrialTerms) { now.Known.Holds = trial.Scatter{U: 1e-3, Dof: 9} }).LeakRate.U, 3*as.LeakRate.U)
	assert.NotEqual(t, as.Dof, made(func(now *ledger.TrialTerms) { now.Dof = []float64{2, 2, 2} }).Dof)
	assert.Equal(t, 2.0, made(func(now *ledger.TrialTerms) { now.Plugging = []int{1, 2, 3} }).Repeatability.Replugging.Dof)
}

// Nothing that is set aside gives back a verdict that was withheld because of the rig.
func TestWhatWasWithheldStaysWithheldWithoutAHold(t *testing.T) {
	t.Parallel()
	b, path := openShop(t)
	_, err := keepRig(t.Context(), b.store, rig.Record{
		Kind: rig.KindCheck, Rig: rig.Identity{Gauge: "SIMULATED"}, ValidFrom: time.Now().Add(-time.Hour), ValidUntil: time.Now().Add(time.Hour),
		Leak: "RL-7", Check: &rig.Watch{State: rig.OutOfControl, Says: "Check the rig: it drifted."},
	})
	require.NoError(t, err)
	_, err = seedTickets[0].seed(t.Context(), b, seedRandom())
	require.NoError(t, err)
	entries, err := b.store.Trials(t.Context(), ledger.Filter{})
	require.NoError(t, err)
	require.Equal(t, trial.Inconclusive, entries[0].Result.Verdict)
	require.Greater(t, entries[0].Result.Decision.PConform, 0.95, "it would pass")
	_, err = b.store.Append(t.Context(), ledger.VoidDraft(entries[0].Holds[0], "a finger slipped"))
	require.NoError(t, err)

	now, err := withoutVoided(t.Context(), b.store, entries[0].Trial)
	require.NoError(t, err)
	assert.Equal(t, 2, now.Used)
	assert.Equal(t, trial.Inconclusive, now.Verdict)
	assert.Equal(t, entries[0].Result.Decision.Next, now.Decision.Next)
	assert.Equal(t, entries[0].Result.Decision.From, now.Decision.From)
	assert.Contains(t, now.Notes, "Check the rig: it drifted.")
	listed := runHere(t.Context(), "", "trials", "--ledger", path)
	assert.NotContains(t, listed.out, "pass")
}
