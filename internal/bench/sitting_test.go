package bench_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/gauge"
	"boretight/internal/ledger"
	"boretight/internal/rig"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

// trialBook keeps trials in memory.
type trialBook struct {
	mu     sync.Mutex
	kept   []ledger.Trial
	known  trial.Repeatability
	voided func(holds []string) []string
	slow   func() // called before a trial is kept
	fault  error
}

func (b *trialBook) Keep(_ context.Context, t ledger.Trial) error {
	if b.slow != nil {
		b.slow()
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.fault != nil {
		return b.fault
	}
	b.kept = append(b.kept, t)
	return nil
}

func (b *trialBook) Known(context.Context, ledger.Trial) (trial.Repeatability, error) {
	return b.known, nil
}

func (b *trialBook) Voided(_ context.Context, holds []string) ([]string, error) {
	if b.voided == nil {
		return nil, nil
	}
	return b.voided(holds), nil
}

// several are holds one after another.
func several(holds ...[]trace.Reading) (all []trace.Reading) {
	for i, h := range holds {
		if i > 0 {
			h = later(h, all)
		}
		all = append(all, h...)
	}
	return all
}

func sitThrough(t *testing.T, readings []trace.Reading, s bench.Settings, book *trialBook, o bench.Options) ([]trial.Trial, []bench.HoldData) {
	t.Helper()
	o.Sources = []bench.Source{{Name: "upper", Gauge: &scripted{readings: readings}}}
	o.Settings, o.Trials = s, book
	b, events := run(t, o, newMemorySink())
	if book.fault != nil {
		assert.Contains(t, b.Snapshot().Ledger.Problem, book.fault.Error())
	}
	var trials []trial.Trial
	for _, d := range dataOf[bench.TrialData](events) {
		trials = append(trials, d.Trial)
	}
	return trials, dataOf[bench.HoldData](events)
}

func TestATrialIsKeptWheneverItGainsAHold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		book := &trialBook{}
		s := untold(t)
		s.Fit.Volume = settings(t).Fit.Volume
		s.Setup.When, s.Setup.Ticket = "as_found", "T-17"
		shown, holds := sitThrough(t, several(suctionHold(), suctionHold(), suctionHold()), s, book, bench.Options{})
		require.Len(t, book.kept, 3)
		require.Len(t, holds, 3)
		last := book.kept[2]
		assert.Equal(t, []string{holds[0].ID, holds[1].ID, holds[2].ID}, last.Holds)
		assert.Equal(t, "oboe/upper", last.Of)
		assert.Equal(t, []string{"oboe", "upper", "all keys", "as_found", "T-17"}, []string{last.Instrument, last.Joint, last.Closure, last.When, last.Ticket})
		assert.Equal(t, 3, last.Result.Used)
		assert.Equal(t, "oboe/upper", last.Result.Joint)
		assert.Equal(t, "all keys", last.Result.Closure)
		assert.Contains(t, last.Result.Notes, "The stoppers stayed in between the holds: how much a re-plugging would change is not in the uncertainty.")
		require.NotNil(t, last.Terms, "so that it can be made again without one of them")
		assert.Equal(t, []int{1, 1, 1}, last.Terms.Plugging)
		assert.Len(t, last.Terms.Dof, 3)
		_, err := ledger.Canonical(last)
		require.NoError(t, err)
		for i, kept := range book.kept {
			assert.Equal(t, last.ID, kept.ID, "one trial")
			assert.Equal(t, last.ID, kept.Result.ID)
			assert.Len(t, kept.Holds, i+1)
			assert.Equal(t, kept.Result, shown[i], "what is shown is what is kept")
		}
	})
}

func TestHoldsOfBothSignsAreNeverMixed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		book := &trialBook{}
		shown, _ := sitThrough(t, several(suctionHold(), inPressure(suctionHold()), suctionHold(), inPressure(suctionHold())), settings(t), book, bench.Options{})
		require.Len(t, shown, 4)
		assert.Equal(t, []string{"suction", "pressure", "suction", "pressure"}, []string{shown[0].Sign, shown[1].Sign, shown[2].Sign, shown[3].Sign})
		assert.Equal(t, shown[0].ID, shown[2].ID)
		assert.Equal(t, shown[1].ID, shown[3].ID)
		assert.NotEqual(t, shown[0].ID, shown[1].ID)
		assert.Equal(t, 2, shown[3].Holds)
		note := shown[3].Notes[len(shown[3].Notes)-1]
		assert.Contains(t, note, "A trial of its own begins with this hold: ")
		assert.Contains(t, note, "the sign differs")
	})
}

func TestRepluggedHoldsHaveAPluggingEach(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := settings(t)
		s.Replugged = true
		shown, _ := sitThrough(t, several(suctionHold(), suctionHold()), s, &trialBook{}, bench.Options{})
		require.NotNil(t, shown[1].Repeatability)
		assert.Equal(t, 1.0, shown[1].Repeatability.Replugging.Dof)
		assert.Zero(t, shown[1].Repeatability.Holds.Dof)
		for _, note := range shown[1].Notes {
			assert.NotContains(t, note, "stoppers stayed in")
		}
	})
}

func TestWhatEarlierTrialsSawOfTheRigCounts(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		book := &trialBook{known: trial.Repeatability{Holds: trial.Scatter{U: 5e-4, Dof: 30}}}
		shown, holds := sitThrough(t, suctionHold(), settings(t), book, bench.Options{})
		assert.Greater(t, shown[0].LeakRate.U, 5e-4)
		assert.Less(t, holds[0].LeakRate.U, 1e-4)
		assert.Equal(t, trial.Pass, holds[0].Verdict)
	})
}

func TestAHoldThatWasSetAsideCountsNoMore(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		book := &trialBook{voided: func(holds []string) []string { return holds[:1] }}
		shown, holds := sitThrough(t, several(suctionHold(), suctionHold()), settings(t), book, bench.Options{})
		require.Len(t, shown, 2)
		assert.Equal(t, 1, shown[1].Holds)
		assert.Equal(t, []string{holds[1].ID}, book.kept[1].Holds)
	})
}

func TestATrialHasOnlySoManyHolds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		shown, _ := sitThrough(t, several(suctionHold(), suctionHold(), suctionHold()), settings(t), &trialBook{}, bench.Options{TrialHolds: 2})
		assert.Equal(t, shown[0].ID, shown[1].ID)
		assert.NotEqual(t, shown[1].ID, shown[2].ID)
		assert.Equal(t, 1, shown[2].Holds)
	})
}

func TestHoldsThatLieFarApartAreNoTrial(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		second := later(suctionHold(), suctionHold())
		for i := range second {
			second[i].T += 2 * time.Hour
		}
		shown, _ := sitThrough(t, slices.Concat(suctionHold(), second), settings(t), &trialBook{}, bench.Options{})
		require.Len(t, shown, 2)
		assert.NotEqual(t, shown[0].ID, shown[1].ID)
	})
}

func TestATrialThatCannotBeKeptIsShownAndSaid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		shown, _ := sitThrough(t, suctionHold(), settings(t), &trialBook{fault: ledger.ErrNoSpace}, bench.Options{})
		assert.Len(t, shown, 1)
	})
}

func TestATrialCarriesThatTheRigIsNotProven(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		shown, _ := sitThrough(t, suctionHold(), settings(t), &trialBook{}, bench.Options{RigRecords: func() []rig.Record { return nil }})
		assert.Equal(t, []string{
			"The rig has not been checked with a reference leak.", "Rig not proven: measure a reference leak on three rigid bottles.",
		}, shown[0].Notes)
		var all []rig.Record
		for _, r := range onRecord() {
			all = append(all, r)
		}
		s := untold(t)
		shown, _ = sitThrough(t, suctionHold(), s, &trialBook{}, bench.Options{RigRecords: func() []rig.Record { return all }})
		assert.Empty(t, shown[0].Notes)
		assert.Contains(t, shown[0].Rig, "blank the blank")
	})
}

func TestATrialSaysThatAHoldWasCut(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		all := suctionHold()
		g := &scripted{readings: all[:950]}
		g.then = func(s gauge.Sink) error {
			s.Break(errors.New("unplugged"))
			return gauge.ErrEnded
		}
		_, events := run(t, bench.Options{Sources: []bench.Source{{Name: "upper", Gauge: g}}, Settings: settings(t)}, newMemorySink())
		trials := dataOf[bench.TrialData](events)
		require.Len(t, trials, 1)
		assert.Contains(t, trials[0].Notes[0], "Cut short, since the readings ended in mid-hold: hold ")
	})
}
