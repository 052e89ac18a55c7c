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
	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/rig"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

// parts are those of the rig of the tests; the gauge says its own name.
var parts = rig.Identity{Hose: "clear 4 mm", Stoppers: "A", Valve: "1"}

func whole() rig.Identity {
	id := parts
	id.Gauge = "FAKE-1"
	return id
}

// onRecord is what the tests know of the rig, by kind.
func onRecord() map[rig.Kind]rig.Record {
	record := func(k rig.Kind) rig.Record {
		return rig.Record{ID: "the " + string(k), Kind: k, Rig: whole(), ValidFrom: time.Date(1999, 6, 1, 0, 0, 0, 0, time.UTC)}
	}
	calibration, volume, blank := record(rig.KindCalibration), record(rig.KindVolume), record(rig.KindBlank)
	check, proof := record(rig.KindCheck), record(rig.KindProof)
	calibration.Calibration = &rig.Calibration{Span: rig.Result{Measured: rig.Measured{Value: 1.02, U: 0.002}}}
	volume.Joint = `oboe/upper, closure "all keys"`
	volume.Volume = &rig.Volume{Result: rig.Result{Measured: rig.Measured{Value: 34.2e-6, U: 0.3e-6}}, Method: rig.BySyringe, RigIncluded: true}
	blank.Blank = &rig.Blank{
		LeakRate: rig.Result{Measured: rig.Measured{Value: 3e-4, U: 2e-5}}, Volume: rig.Measured{Value: 8e-6, U: 0.1e-6},
		Sign: air.Suction, At: 2500, Rig: whole(),
	}
	check.Check = &rig.Watch{State: rig.InControl}
	proof.Proof = &rig.Proof{Passed: true}
	return map[rig.Kind]rig.Record{
		rig.KindCalibration: calibration, rig.KindVolume: volume, rig.KindBlank: blank, rig.KindCheck: check, rig.KindProof: proof,
	}
}

// measure runs one hold and returns it with what the ledger has of it.
func measure(t *testing.T, readings []trace.Reading, s bench.Settings, known func(map[rig.Kind]rig.Record), limits ...ledger.Limit) (bench.HoldData, *memoryHold) {
	t.Helper()
	records := onRecord()
	if known != nil {
		known(records)
	}
	var all []rig.Record
	for _, r := range records {
		all = append(all, r)
	}
	sink := newMemorySink()
	_, events := run(t, bench.Options{
		Sources:    []bench.Source{{Name: "upper", Gauge: &scripted{readings: readings}}},
		Settings:   s,
		RigRecords: func() []rig.Record { return all },
		Limits:     func() []ledger.Limit { return limits },
	}, sink)
	holds := dataOf[bench.HoldData](events)
	require.Len(t, holds, 1)
	require.NotNil(t, holds[0].LeakRate)
	return holds[0], sink.hold(holds[0].ID)
}

// untold are settings in which nothing is told that the rig's records know.
func untold(t *testing.T) bench.Settings {
	s := settings(t)
	s.Fit.Volume = decay.Input{}
	s.Rig = parts
	s.Setup.Instrument, s.Setup.Joint, s.Setup.Closure = "oboe", "upper", "all keys"
	return s
}

func suctionHold() []trace.Reading { return oneHold(3, 2750, 0.04, 8, 4) }

// inPressure turns readings about the level at rest.
func inPressure(readings []trace.Reading) []trace.Reading {
	readings = slices.Clone(readings)
	for i := range readings {
		readings[i].Pressure = 2*13.6 - readings[i].Pressure
	}
	return readings
}

func TestWhatIsKnownOfTheRigIsUsedAndNamed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, kept := measure(t, suctionHold(), untold(t), nil)
		assert.Equal(t, []string{"the calibration", "the volume", "the blank", "the check", "the proof"}, h.RigRecords)
		for _, note := range h.Notes {
			assert.NotContains(t, note, "rig", "a whole rig has nothing to say")
		}
		told, err := bench.ReadTold(kept.begin.Setup)
		require.NoError(t, err)
		again := trial.Judge(hold.Find(trace.Trace{Readings: kept.readings})[0], told.Setup(hold.Suction), 0)
		assert.Equal(t, h.LeakRate, again.LeakRate, "the begin record says all that the fit was told")
		fit := settings(t).Fit
		fit.Span, fit.SpanU, fit.Rig = 1.02, 0.002/1.02, decay.Input{Value: 3e-4, U: 2e-5}
		assert.Equal(t, fit, told.Setup(hold.Suction))
		assert.Equal(t, whole(), told.Rig["suction"].Identity)
		assert.Equal(t, "the blank", told.Rig["suction"].Blank)
		assert.Empty(t, told.Rig["pressure"].Blank)
	})
}

func TestABlankOfTheOtherSignIsNotSubtracted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, kept := measure(t, inPressure(suctionHold()), untold(t), nil)
		assert.Equal(t, "pressure", h.Sign)
		assert.NotContains(t, h.RigRecords, "the blank")
		assert.Contains(t, h.Notes, "No blank of this rig is on record: what the rig leaks counts as the joint's.")
		told, err := bench.ReadTold(kept.begin.Setup)
		require.NoError(t, err)
		assert.Equal(t, decay.Input{}, told.Setup(hold.Pressure).Rig)
	})
}

func TestAVolumeWithoutTheRigTakesTheRigsFromTheBlank(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		bore := func(all map[rig.Kind]rig.Record) {
			v := all[rig.KindVolume]
			v.Volume = &rig.Volume{Result: rig.Result{Measured: rig.Measured{Value: 26.2e-6, U: 0.3e-6}}, Method: rig.ByBore}
			all[rig.KindVolume] = v
			blank := all[rig.KindBlank]
			own := *blank.Blank
			own.LeakRate = rig.Result{Measured: rig.Measured{U: 1e-9}}
			blank.Blank = &own
			all[rig.KindBlank] = blank
			delete(all, rig.KindCalibration)
		}
		h, _ := measure(t, suctionHold(), untold(t), bore)
		with, _ := measure(t, suctionHold(), untold(t), func(all map[rig.Kind]rig.Record) {
			bore(all)
			v := all[rig.KindVolume]
			v.Volume = &rig.Volume{Result: rig.Result{Measured: rig.Measured{Value: 34.2e-6, U: 0.316e-6}}, RigIncluded: true}
			all[rig.KindVolume] = v
		})
		assert.InEpsilon(t, with.LeakRate.Value, h.LeakRate.Value, 1e-6, "26.2 ml and the rig's 8 ml")
		assert.Equal(t, []string{"the blank", "the volume", "the check", "the proof"}, h.RigRecords)
	})
}

func TestWhatAPersonTellsCountsMoreAndIsNoted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := untold(t)
		s.Fit.Volume = decay.Input{Value: 40e-6, U: 1e-6}
		s.Fit.SpanU = 0.01
		h, kept := measure(t, suctionHold(), s, nil)
		assert.Equal(t, []string{"the blank", "the check", "the proof"}, h.RigRecords)
		assert.Contains(t, h.Notes, "The volume was told, 40 ml: the one on record (34.2 ml, syringe step) was not used.")
		assert.Contains(t, h.Notes, "The uncertainty of the gauge's span was told: its calibration on record was not used.")
		told, err := bench.ReadTold(kept.begin.Setup)
		require.NoError(t, err)
		assert.Equal(t, s.Fit.Volume, told.Fit.Volume)
		assert.Zero(t, told.Fit.Span)
	})
}

func TestAVolumeOfAnotherClosureIsNamedAndNotUsed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := untold(t)
		s.Setup.Closure = "G pressed"
		sink := newMemorySink()
		_, events := run(t, bench.Options{
			Sources:    []bench.Source{{Name: "upper", Gauge: &scripted{readings: suctionHold()}}},
			Settings:   s,
			RigRecords: func() []rig.Record { return []rig.Record{onRecord()[rig.KindVolume]} },
		}, sink)
		h := dataOf[bench.HoldData](events)[0]
		assert.Nil(t, h.LeakRate)
		assert.Contains(t, h.Notes, `No volume was measured for oboe/upper, closure "G pressed"; those on record are for oboe/upper, closure "all keys" and were not used: tell section and closure as they were then, or measure it anew.`)
	})
}

func TestAVolumeOfASectionIsNotThatOfAClosureOfTheSameName(t *testing.T) {
	t.Parallel()
	joint := func(section, closure string) string {
		return bench.Setup{Instrument: "oboe", Joint: "upper", Section: section, Closure: closure}.Subject()
	}
	assert.Equal(t, "oboe/upper", joint("", ""))
	assert.Equal(t, `oboe/upper, section "bell", closure "all keys"`, joint("bell", "all keys"))
	assert.NotEqual(t, joint("bell", ""), joint("", "bell"))
	assert.NotEqual(t, joint("bell all", "keys"), joint("bell", "all keys"))
	assert.NotEqual(t, joint(`bell", closure "keys`, ""), joint("bell", "keys"))
}

func TestARigOutOfControlGivesNoVerdict(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		drifted := func(all map[rig.Kind]rig.Record) {
			c := all[rig.KindCheck]
			c.Check = &rig.Watch{State: rig.OutOfControl, Says: "Check the rig: it drifted."}
			all[rig.KindCheck] = c
		}
		for _, limit := range []string{"0.1sccm", "100sccm"} {
			s := untold(t)
			s.Limit = leakRate(t, limit)
			h, _ := measure(t, suctionHold(), s, drifted)
			assert.Equal(t, trial.Inconclusive, h.Verdict)
			assert.Contains(t, h.Decision.Next, "check the rig")
			assert.Contains(t, h.Notes, "Check the rig: it drifted.")
		}
		s := untold(t)
		s.Limit = leakRate(t, "100sccm")
		check := onRecord()[rig.KindCheck]
		check.Check = &rig.Watch{State: rig.OutOfControl, Says: "Check the rig: it drifted."}
		s.Fit.Volume = settings(t).Fit.Volume
		_, events := run(t, bench.Options{
			Sources: []bench.Source{{Name: "upper", Gauge: &scripted{readings: suctionHold()}}}, Settings: s,
			RigRecords: func() []rig.Record { return []rig.Record{check} },
		}, newMemorySink())
		estimates := dataOf[bench.EstimateData](events)
		require.NotEmpty(t, estimates)
		for _, e := range estimates {
			assert.Contains(t, []trial.Verdict{trial.None, trial.Inconclusive}, e.Outcome.Verdict, "not while it is under way either")
		}
		trials := dataOf[bench.TrialData](events)
		require.Len(t, trials, 1)
		assert.Equal(t, trial.Inconclusive, trials[0].Verdict)

		h, _ := measure(t, suctionHold(), s, func(all map[rig.Kind]rig.Record) {
			drifted(all)
			c := all[rig.KindCheck]
			c.Rig.Gauge = "FAKE-2"
			all[rig.KindCheck] = c
		})
		assert.Equal(t, trial.Pass, h.Verdict, "the check was of another gauge")
	})
}

func TestANewRigIsUsedAndSaysThatItIsNotProven(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := untold(t)
		s.Fit.Volume = settings(t).Fit.Volume
		h, _ := measure(t, suctionHold(), s, func(all map[rig.Kind]rig.Record) { clear(all) })
		assert.Empty(t, h.RigRecords)
		assert.Equal(t, trial.Pass, h.Verdict)
		assert.Contains(t, h.Notes, "Rig not proven: measure a reference leak on three rigid bottles.")
		spans := slices.DeleteFunc(slices.Clone(h.Notes), func(note string) bool { return !strings.Contains(note, "span") })
		assert.Len(t, spans, 1, "that there is no calibration is said once")
	})
}

func TestACalibrationThatIsOverdueIsNotOneThatWasNeverMade(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, kept := measure(t, suctionHold(), untold(t), func(all map[rig.Kind]rig.Record) {
			c := all[rig.KindCalibration]
			c.ValidUntil = c.ValidFrom.AddDate(0, 1, 0)
			all[rig.KindCalibration] = c
		})
		spans := slices.DeleteFunc(slices.Clone(h.Notes), func(note string) bool { return !strings.Contains(note, "alibration") })
		assert.Equal(t, []string{"The calibration of 1 Jun 1999 is overdue since 1 Jul 1999. Until there is a new one the span counts as known to 2 %."}, spans)
		told, err := bench.ReadTold(kept.begin.Setup)
		require.NoError(t, err)
		assert.Equal(t, 0.02, told.Fit.SpanU)
		assert.Zero(t, told.Fit.Span, "nothing is corrected by it")
		assert.NotContains(t, h.RigRecords, "the calibration")
		assert.Empty(t, told.Rig["suction"].Calibration)
	})
}

func TestABlankOfFewHoldsIsKnownLessWell(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		mean, _, err := rig.MeanRate([]rig.Rate{{Value: 37, Own: 0.1}, {Value: 38, Own: 0.1}, {Value: 39, Own: 0.1}})
		require.NoError(t, err)
		few, err := rig.NewBlank(whole(), air.Suction, 2500, mean, rig.Measured{Value: 8e-6})
		require.NoError(t, err)
		_, kept := measure(t, suctionHold(), untold(t), func(all map[rig.Kind]rig.Record) {
			b := all[rig.KindBlank]
			b.Blank = &few
			all[rig.KindBlank] = b
		})
		told, err := bench.ReadTold(kept.begin.Setup)
		require.NoError(t, err)
		// The standard deviation is 1 Pa/s; t with 2 degrees of freedom is 4.303
		// (JCGM 100:2008, table G.2).
		assert.InEpsilon(t, 4.303/1.960/math.Sqrt(3)*8e-6, told.Setup(hold.Suction).Rig.U, 1e-3)
	})
}

func TestABlankThatLeaksMoreThanTheJointIsDoubted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, _ := measure(t, suctionHold(), untold(t), func(all map[rig.Kind]rig.Record) {
			b := all[rig.KindBlank]
			leaky := *b.Blank
			leaky.LeakRate = rig.Result{Measured: rig.Measured{Value: 2.5e-3, U: 2e-5}}
			b.Blank = &leaky
			all[rig.KindBlank] = b
		})
		assert.Contains(t, h.Notes, "The rig leaks more than the joint: the result is a small difference of two large leaks. Mend the rig first.")
	})
}

func leakRate(t *testing.T, text string) quantity.LeakRate {
	t.Helper()
	r, err := quantity.ParseLeakRate(text)
	require.NoError(t, err)
	return r
}

func TestTheShopsLimitCountsWhereNoneIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		set := time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)
		limits := []ledger.Limit{
			{ID: "other", Joint: "oboe/lower", Closure: "all keys", At: 2500, Sign: "suction", Rate: leakRate(t, "0.1sccm"), Set: set},
			{ID: "pressure", Joint: "oboe/upper", Closure: "all keys", At: 2500, Sign: "pressure", Rate: leakRate(t, "0.1sccm"), Set: set},
			{ID: "mine", Joint: "oboe/upper", Closure: "all keys", At: 2500, Sign: "suction", Rate: leakRate(t, "100sccm"), Set: set},
		}
		s := untold(t)
		s.Limit = quantity.LeakRate{}
		h, _ := measure(t, suctionHold(), s, nil, limits...)
		require.NotNil(t, h.Decision)
		assert.Equal(t, trial.Pass, h.Verdict)
		assert.InEpsilon(t, 100, h.Decision.LimitSCCM, 1e-9)
		assert.Equal(t, `the shop's limit for oboe/upper, closure "all keys" in suction, set on 25 Nov 2026 (record mine)`, h.Decision.From)

		h, _ = measure(t, inPressure(suctionHold()), s, nil, limits...)
		assert.Equal(t, trial.Fail, h.Verdict, "the limit of the other sign is another one")

		h, _ = measure(t, suctionHold(), s, nil, limits[:2]...)
		assert.Equal(t, trial.None, h.Verdict)
		assert.Contains(t, h.Notes, `No limit is set for oboe/upper, closure "all keys" in suction at 2.5 kPa; those set are for oboe/upper, closure "all keys" in pressure at 2.5 kPa and do not count for it.`)

		s.Limit = leakRate(t, "0.2sccm")
		h, _ = measure(t, suctionHold(), s, nil, limits...)
		assert.Equal(t, trial.Fail, h.Verdict)
		assert.Equal(t, "told for this measurement", h.Decision.From)
	})
}

// What is held apart leaks less than the whole, and what has a key pressed less than what
// has not: a limit of the one would pass too much of the other.
func TestALimitJudgesJustTheSectionAndClosureThatItIsOf(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		of := func(id, section, closure string) ledger.Limit {
			return ledger.Limit{ID: id, Joint: "oboe/upper", Section: section, Closure: closure, At: 2500, Sign: "suction", Rate: leakRate(t, "100sccm")}
		}
		limits := []ledger.Limit{of("whole", "", ""), of("bell", "bell", ""), of("keys", "", "all keys")}
		for _, c := range []struct{ section, closure, by string }{
			{"", "", "whole"}, {"bell", "", "bell"}, {"", "all keys", "keys"}, {"bell", "all keys", ""}, {"", "G pressed", ""},
		} {
			s := untold(t)
			s.Fit.Volume, s.Limit = settings(t).Fit.Volume, quantity.LeakRate{}
			s.Setup.Section, s.Setup.Closure = c.section, c.closure
			h, _ := measure(t, suctionHold(), s, nil, limits...)
			if c.by != "" {
				require.NotNil(t, h.Decision)
				assert.Contains(t, h.Decision.From, "(record "+c.by+")")
				continue
			}
			assert.Nil(t, h.Decision)
			assert.Contains(t, strings.Join(h.Notes, "\n"), "those set are for oboe/upper in suction at 2.5 kPa;")
		}
	})
}

func TestABeginRecordOfBeforeIsReadAsItWas(t *testing.T) {
	t.Parallel()
	old, err := json.Marshal(map[string]any{"fit": decay.Setup{SpanU: -1, Rig: decay.Input{Value: 1e-5}}, "method": decay.Method})
	require.NoError(t, err)
	told, err := bench.ReadTold(old)
	require.NoError(t, err)
	assert.Equal(t, 1e-5, told.Setup(hold.Suction).Rig.Value)
	_, err = bench.ReadTold([]byte("{"))
	assert.Error(t, err)
	told, err = bench.ReadTold(nil)
	require.NoError(t, err)
	assert.Equal(t, bench.Told{}, told)
}
