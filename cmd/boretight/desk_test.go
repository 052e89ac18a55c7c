package main

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/catalog"
	"boretight/internal/config"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/web"
)

// deskOf is the desk of a bench with one gauge, which was told so much at its start.
func deskOf(t *testing.T, told config.Config) *desk {
	t.Helper()
	b, _ := openShop(t)
	settings, err := newSettings(told)
	require.NoError(t, err)
	run, err := bench.New(bench.Options{Sources: []bench.Source{{Name: "bench", Gauge: recorded{}}}, Recorder: b.writer, Settings: settings})
	require.NoError(t, err)
	return &desk{told: told, bench: run, book: b, catalog: catalog.Templates}
}

// toldOfJoint is what was told of a joint, with its volume and its limit.
func toldOfJoint(joint, section, closure string) config.Config {
	told := config.Default()
	told.Labels = config.Labels{Joint: joint, Section: section, Closure: closure}
	told.Measure.Volume, told.Measure.Limit = new(quantity.Volume(34e-6)), new(quantity.LeakRate)
	*told.Measure.Limit, _ = quantity.ParseLeakRate("2.5sccm")
	return told
}

func TestWhatWasToldOfAJointIsOfNoOther(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name          string
		of, put       web.Put
		volume, limit bool
	}{
		{"of that joint", web.Put{Joint: "oboe/upper"}, web.Put{Joint: "oboe/upper"}, true, true},
		{"of another joint", web.Put{Joint: "oboe/upper"}, web.Put{Joint: "oboe/lower"}, false, false},
		{"of the whole joint, not of its section", web.Put{Joint: "oboe/upper"}, web.Put{Joint: "oboe/upper", Section: "top"}, false, false},
		{"of the section, not of the whole joint", web.Put{Joint: "oboe/upper", Section: "top"}, web.Put{Joint: "oboe/upper"}, false, false},
		{"of another closure, which encloses as much", web.Put{Joint: "oboe/upper", Closure: "G pressed"}, web.Put{Joint: "oboe/upper"}, true, false},
		{"of what lay on the bench at the start, whatever it was", web.Put{}, web.Put{Joint: "oboe/lower", Closure: "G pressed"}, false, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			d := deskOf(t, toldOfJoint(c.of.Joint, c.of.Section, c.of.Closure))
			require.NoError(t, d.Put(t.Context(), "bench", c.put))
			on, err := d.bench.Settings("bench")
			require.NoError(t, err)
			assert.Equal(t, c.volume, on.Fit.Volume.Told(), "volume")
			assert.Equal(t, c.limit, on.Limit != quantity.LeakRate{}, "limit")
		})
	}
}

func TestWhatLiesOnTheBenchIsKeptThoughNobodyWaitsForTheAnswer(t *testing.T) {
	t.Parallel()
	d := deskOf(t, config.Default())
	left, leave := context.WithCancel(t.Context())
	leave()
	require.NoError(t, d.Put(left, "bench", web.Put{Joint: "oboe/lower", When: config.AsFound}))
	laid, err := newestLaid(t.Context(), d.book.store, "bench")
	require.NoError(t, err)
	require.NotNil(t, laid)
	assert.Equal(t, "oboe/lower", laid.Joint)

	again := deskOf(t, config.Default())
	again.book = d.book
	require.NoError(t, again.recall(t.Context(), "bench"))
	on, err := again.bench.Settings("bench")
	require.NoError(t, err)
	assert.Equal(t, "oboe/lower", on.Setup.Name(), "after a restart")

	told := deskOf(t, toldOfJoint("flute/body", "", ""))
	told.book = d.book
	require.NoError(t, told.recall(t.Context(), "bench"))
	on, err = told.bench.Settings("bench")
	require.NoError(t, err)
	assert.Equal(t, "flute/body", on.Setup.Name(), "named at the start, it is that one")
}

func TestACatalogThatCannotBeReadIsSaidToWhoLaysAJoint(t *testing.T) {
	t.Parallel()
	d := deskOf(t, config.Default())
	d.catalog = func() (catalog.Catalog, error) { return catalog.Catalog{}, errors.New("oboe.toml:3: no such key") }
	var fault *web.Fault
	require.ErrorAs(t, d.Put(t.Context(), "bench", web.Put{Joint: "oboe/lower"}), &fault)
	assert.Contains(t, fault.Says, "oboe.toml:3")
}

// forgetful is a ledger that finds no trial.
type forgetful struct{ ledger.Store }

func (forgetful) FindTrial(context.Context, string) (ledger.TrialEntry, error) {
	return ledger.TrialEntry{}, errors.New("the disk does not answer")
}

func TestAHoldIsKnownToBeSetAsideThoughItsTrialCouldNotBeJudged(t *testing.T) {
	t.Parallel()
	b, _, trials := seeded(t)
	_, err := voidHold(t.Context(), forgetful{b.store}, trials[0].Holds[0], "a finger slipped")
	require.ErrorIs(t, err, errUnjudged)
	require.ErrorContains(t, err, "the disk does not answer")
	voided, err := b.store.Voided(t.Context(), trials[0].Holds)
	require.NoError(t, err)
	assert.Len(t, voided, 1)
}
