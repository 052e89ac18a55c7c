package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/bench"
	"boretight/internal/quantity"
	"boretight/internal/rig"
)

// checksOf are a rig's checks on a number of days.
func checksOf(t *testing.T, gauge string, n int) []rig.Record {
	t.Helper()
	var all []rig.Checked
	var records []rig.Record
	day := time.Date(2026, 2, 2, 8, 0, 0, 0, time.UTC)
	for i := range n {
		c, err := rig.Check(rig.Measured{Value: 4.02e-3, U: 4e-5}, rig.Measured{Value: 4e-3, U: 4e-5})
		require.NoError(t, err)
		all = append(all, c)
		w := rig.WatchOver(all)
		records = append(records, rig.Record{
			ID: "check-" + day.AddDate(0, 0, i).Format("0102"), Kind: rig.KindCheck, Rig: rig.Identity{Gauge: gauge}, Leak: "RL-<7>",
			ValidFrom: day.AddDate(0, 0, i), ValidUntil: day.AddDate(0, 0, i+1), Check: &w,
		})
	}
	return records
}

func TestTheRigsBookHasAllRecordsWithTheirPlaces(t *testing.T) {
	b := &fakeBooks{records: checksOf(t, "HX-0417", 3)}
	from := time.Date(2026, 1, 2, 8, 0, 0, 0, time.UTC)
	b.records = append(b.records,
		rig.Record{ID: "vol-1", Kind: rig.KindVolume, Joint: "oboe/upper", ValidFrom: from, Volume: &rig.Volume{Result: rig.Result{Measured: rig.Measured{Value: 20e-6, U: 1e-7}}, Method: rig.BySyringe}},
		rig.Record{ID: "vol-2", Kind: rig.KindVolume, Joint: "oboe/upper", ValidFrom: from.AddDate(0, 1, 0), Volume: &rig.Volume{Result: rig.Result{
			Measured: rig.Measured{Value: 20.4e-6, U: 1e-7}, Budget: []rig.Contribution{{Source: "the syringe", U: 1e-7, URelative: 0.005}},
		}, Method: rig.BySyringe}},
		rig.Record{ID: "blank-1", Kind: rig.KindBlank, Rig: rig.Identity{Gauge: "HX-0001"}, ValidFrom: from, Blank: &rig.Blank{
			LeakRate: rig.Result{Measured: rig.Measured{Value: 2e-5, U: 1e-6}}, Sign: air.Suction, At: 2500,
		}})
	site, f := bookSite(t, b, quantity.Units{})
	state := knownRig()
	state.Known[3].ID = "check-0204"
	f.change(func(s *bench.Snapshot) { s.Rigs = []bench.RigState{state} })
	page := ask(t, site, "/rig").Body.String()
	said := words(page)
	for _, id := range []string{"check-0202", "check-0203", "check-0204", "blank-1", "vol-2"} {
		assert.Contains(t, page, `id="`+id+`"`, "holds link to it")
	}
	assert.Contains(t, page, "RL-&lt;7&gt;")
	assert.NotContains(t, page, "RL-<7>")
	for _, want := range []string{
		"Volume of oboe/upper: 20.40 ± 0.20 ml", "the syringe", "HX-0001 not on this bench now",
		"boretight rig prove --gauge sim:oboe", "Check the rig. Each verdict says so.", "certified",
	} {
		assert.Contains(t, said, want)
	}
	assert.Contains(t, page, `class="plot"`, "the checks as a control chart")
	assert.Contains(t, page, "3 checks from 2 Feb 2026 to 4 Feb 2026", "in words, too")
	assert.NotContains(t, page, "style=")

	joint := words(ask(t, site, "/catalog/oboe/upper").Body.String())
	assert.Contains(t, joint, "Measured: 20.40 ± 0.20 ml for oboe/upper")
}

func TestALongHistoryIsFoldedAway(t *testing.T) {
	b := &fakeBooks{records: checksOf(t, "HX-0417", 26)}
	site, f := bookSite(t, b, quantity.Units{})
	f.change(func(s *bench.Snapshot) { s.Rigs = []bench.RigState{knownRig()} })
	assert.Contains(t, ask(t, site, "/rig").Body.String(), "<summary>26 earlier records</summary>")
}

func TestARigOfWhichNothingIsKnown(t *testing.T) {
	site, _ := bookSite(t, &fakeBooks{}, quantity.Units{})
	assert.Contains(t, ask(t, site, "/rig").Body.String(), "Nothing is on record of a rig yet.")
}
