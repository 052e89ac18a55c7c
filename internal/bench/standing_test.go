package bench_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/bench"
	"boretight/internal/rig"
)

// standing returns how the rigs stand of a bench of two gauges after one hold on the
// first, FAKE-1; the other is never heard.
func standing(t *testing.T, known func(map[rig.Kind]rig.Record), more ...rig.Record) []bench.RigState {
	t.Helper()
	records := onRecord()
	if known != nil {
		known(records)
	}
	all := more
	for _, r := range records {
		all = append(all, r)
	}
	b, _ := run(t, bench.Options{
		Sources:    []bench.Source{{Name: "upper", Gauge: &scripted{readings: suctionHold()}}, {Name: "lower", Gauge: &scripted{serial: "FAKE-2"}}},
		Settings:   untold(t),
		RigRecords: func() []rig.Record { return all },
	}, newMemorySink())
	return b.Snapshot().Rigs
}

func itemOf(t *testing.T, s bench.RigState, kind rig.Kind) bench.RigItem {
	t.Helper()
	i := slices.IndexFunc(s.Known, func(item bench.RigItem) bool { return item.Kind == kind })
	require.GreaterOrEqual(t, i, 0)
	return s.Known[i]
}

func states(s bench.RigState) (all []string) {
	for _, item := range s.Known {
		all = append(all, strings.TrimSpace(string(item.Kind)+" "+item.Sign)+": "+string(item.State))
	}
	return all
}

func TestASnapshotSaysHowTheRigOfEachGaugeStands(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		rigs := standing(t, func(all map[rig.Kind]rig.Record) {
			c := all[rig.KindCheck]
			c.Leak, c.ValidUntil = "RL-7", c.ValidFrom.AddDate(2, 0, 0)
			c.Check = &rig.Watch{State: rig.InControl, Newest: rig.Checked{Deviation: rig.Measured{Value: 0.012, U: 0.008}}}
			all[rig.KindCheck] = c
		})
		require.Len(t, rigs, 2)
		upper := rigs[0]
		assert.Equal(t, "upper", upper.Gauge)
		assert.Equal(t, whole(), upper.Rig)
		assert.True(t, upper.Proven)
		assert.True(t, upper.Trusted)
		assert.Empty(t, upper.Worth)
		assert.Equal(t, []string{"calibration: holds", "volume: holds", "blank suction: holds", "check: holds", "proof: holds"}, states(upper))

		check := itemOf(t, upper, rig.KindCheck)
		assert.Equal(t, "the check", check.ID)
		assert.Equal(t, "RL-7", check.Of)
		assert.Equal(t, time.Date(1999, 6, 1, 0, 0, 0, 0, time.UTC), check.ValidFrom)
		assert.Equal(t, time.Date(2001, 6, 1, 0, 0, 0, 0, time.UTC), check.ValidUntil)
		require.NotNil(t, check.Figure)
		assert.Equal(t, 0.012, check.Figure.Value, "the check's own deviation")
		assert.Equal(t, 0.008, check.Figure.U, "and not the chart's")
		blank := itemOf(t, upper, rig.KindBlank)
		assert.Equal(t, 3e-4, blank.Figure.Value)
		assert.Equal(t, 2e-5, blank.Figure.U)
		assert.Equal(t, "Pa·m³/s", blank.Unit)
		assert.Equal(t, `oboe/upper, closure "all keys"`, itemOf(t, upper, rig.KindVolume).Of)

		lower := rigs[1]
		assert.Equal(t, []string{"calibration: missing", "volume: changed", "blank: missing", "check: missing", "proof: missing"}, states(lower),
			"another gauge is another rig")
		assert.Equal(t, []string{"Rig not proven."}, lower.Worth)
		assert.Zero(t, itemOf(t, lower, rig.KindProof).Figure)
	})
}

func TestWhatChangesTheWorthOfAVerdictIsSaid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		rigs := standing(t, func(all map[rig.Kind]rig.Record) {
			check, proof := all[rig.KindCheck], all[rig.KindProof]
			check.Check = &rig.Watch{State: rig.OutOfControl, Says: "Check the rig: it drifted."}
			proof.ValidUntil = proof.ValidFrom.Add(time.Hour)
			all[rig.KindCheck], all[rig.KindProof] = check, proof
		})
		assert.Equal(t, []string{"Check the rig.", "Rig not proven."}, rigs[0].Worth)
		assert.False(t, rigs[0].Trusted)
		assert.False(t, rigs[0].Proven)
		assert.Equal(t, rig.Failed, itemOf(t, rigs[0], rig.KindCheck).State)
		assert.Equal(t, "Check the rig: it drifted.", itemOf(t, rigs[0], rig.KindCheck).Says)
		assert.Equal(t, rig.Overdue, itemOf(t, rigs[0], rig.KindProof).State)
	})
}

func TestABlankOfEachSignStandsForItself(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		pressed := onRecord()[rig.KindBlank]
		own := *pressed.Blank
		own.Sign = air.Pressure
		pressed.Blank, pressed.ID = &own, "the other blank"
		both := standing(t, nil, pressed)
		assert.Contains(t, states(both[0]), "blank suction: holds")
		assert.Contains(t, states(both[0]), "blank pressure: holds")
		only := standing(t, func(all map[rig.Kind]rig.Record) { delete(all, rig.KindBlank) }, pressed)
		assert.Contains(t, states(only[0]), "blank suction: missing")
		assert.Contains(t, states(only[0]), "blank pressure: holds")
	})
}

// A page could not be sent at all with a figure that JSON cannot say.
func TestAFigureThatIsNoNumberIsLeftOut(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		rigs := standing(t, func(all map[rig.Kind]rig.Record) {
			c := all[rig.KindCalibration]
			c.Calibration = &rig.Calibration{Span: rig.Result{Measured: rig.Measured{Value: 1, U: math.Inf(1)}}}
			all[rig.KindCalibration] = c
		})
		assert.Nil(t, itemOf(t, rigs[0], rig.KindCalibration).Figure)
		_, err := json.Marshal(rigs)
		assert.NoError(t, err)
	})
}

func TestABenchThatLooksAtNoRecordsSaysNothingOfTheRig(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _ := run(t, bench.Options{Sources: []bench.Source{{Name: "upper", Gauge: &scripted{readings: suctionHold()}}}, Settings: untold(t)}, newMemorySink())
		assert.Nil(t, b.Snapshot().Rigs)
	})
}
