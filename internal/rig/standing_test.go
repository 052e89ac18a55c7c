package rig_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/air"
	"boretight/internal/rig"
)

var (
	now     = time.Date(2026, 3, 10, 9, 0, 0, 0, time.UTC)
	subject = rig.Subject{Rig: thisRig, Joint: "clarinet/upper all closed", Sign: air.Suction}
)

const aDay = 24 * time.Hour

// record is one of a kind taken so many days ago and valid for a year.
func record(kind rig.Kind, daysAgo int) rig.Record {
	from := now.Add(-time.Duration(daysAgo) * aDay)
	r := rig.Record{
		ID: fmt.Sprintf("%s-%d", kind, daysAgo), Kind: kind, Rig: thisRig,
		ValidFrom: from, ValidUntil: from.Add(365 * aDay),
	}
	switch kind {
	case rig.KindCalibration:
		r.Calibration = &rig.Calibration{Span: rig.Result{Measured: rig.Measured{Value: 1.01, U: 0.002}}}
	case rig.KindVolume:
		r.Joint = subject.Joint
		r.Volume = &rig.Volume{Result: rig.Result{Measured: rig.Measured{Value: 60e-6, U: 0.5e-6}}, Method: rig.BySyringe, RigIncluded: true}
	case rig.KindBlank:
		r.Blank = &rig.Blank{Sign: air.Suction, LeakRate: rig.Result{Measured: rig.Measured{Value: 2e-5, U: 1e-6}}}
	case rig.KindCheck:
		r.Check = &rig.Watch{State: rig.InControl, Newest: rig.Checked{Deviation: rig.Measured{Value: 0.01, U: 0.01}}}
	case rig.KindProof:
		r.Proof = &rig.Proof{Passed: true, Trials: []rig.Trial{{Checked: rig.Checked{En: -0.4}}, {Checked: rig.Checked{En: 0.2}}}}
	}
	return r
}

var kinds = []rig.Kind{rig.KindCalibration, rig.KindVolume, rig.KindBlank, rig.KindCheck, rig.KindProof}

func whole() (all []rig.Record) {
	for _, k := range kinds {
		all = append(all, record(k, 10))
	}
	return all
}

func TestWholeRigHasNothingToSay(t *testing.T) {
	s := rig.NewStanding(now, subject, whole()...)
	assert.True(t, s.Proven())
	assert.True(t, s.Trusted())
	assert.Empty(t, s.Notes())
	assert.Equal(t, []string{"calibration-10", "volume-10", "blank-10", "check-10", "proof-10"}, s.Used())
}

func TestNewRigKnowsNothingAndSaysSo(t *testing.T) {
	s := rig.NewStanding(now, subject)
	assert.False(t, s.Proven())
	assert.True(t, s.Trusted(), "unchecked is not out of control")
	assert.Len(t, s.Notes(), 5)
	assert.Contains(t, s.Proof.Says, "Rig not proven")
	assert.Contains(t, s.Calibration.Says, "2 %")
	assert.Empty(t, s.Used())
}

func TestOverdueIsSaidWithItsDay(t *testing.T) {
	all := whole()
	all[0] = record(rig.KindCalibration, 400)
	s := rig.NewStanding(now, subject, all...)
	assert.Equal(t, rig.Overdue, s.Calibration.State)
	assert.Equal(t, "The calibration of 3 Feb 2025 is overdue since 3 Feb 2026. Until there is a new one the span counts as known to 2 %.", s.Calibration.Says)
	assert.NotContains(t, s.Used(), "calibration-400")

	all[4] = record(rig.KindProof, 400)
	assert.False(t, rig.NewStanding(now, subject, all...).Proven())
}

func TestWhatIsDueSoonIsSaid(t *testing.T) {
	s := rig.NewStanding(now, subject, record(rig.KindCalibration, 340))
	assert.True(t, s.Calibration.Holds())
	assert.Equal(t, "The calibration is due on 4 Apr 2026.", s.Calibration.Says)

	never := record(rig.KindCalibration, 3000)
	never.ValidUntil = time.Time{}
	s = rig.NewStanding(now, subject, never)
	assert.True(t, s.Calibration.Holds())
	assert.Empty(t, s.Calibration.Says)
}

func TestChangedRigNeedsAllButItsCalibrationAnew(t *testing.T) {
	other := subject
	other.Rig.Hose = "black 3 mm"
	s := rig.NewStanding(now, other, whole()...)
	assert.True(t, s.Calibration.Holds(), "the gauge is the same")
	for _, h := range []rig.Held{s.Volume, s.Blank, s.Check, s.Proof} {
		assert.Equal(t, rig.Changed, h.State)
		assert.Contains(t, h.Says, "(hose)")
	}
	assert.False(t, s.Proven())
	assert.Contains(t, s.Proof.Says, "Rig not proven")

	other = subject
	other.Rig.Gauge = "HX-0999"
	assert.Equal(t, rig.Missing, rig.NewStanding(now, other, whole()...).Calibration.State)
}

func TestVolumeAndBlankAreOfTheirJointAndSign(t *testing.T) {
	other := subject
	other.Joint, other.Sign = "oboe/upper", air.Pressure
	s := rig.NewStanding(now, other, whole()...)
	assert.Equal(t, rig.Missing, s.Volume.State)
	assert.Equal(t, rig.Missing, s.Blank.State)
}

func TestNewerFailureIsNotHiddenByAnOlderPass(t *testing.T) {
	check, proof := record(rig.KindCheck, 1), record(rig.KindProof, 1)
	check.Check.State, check.Check.Says = rig.OutOfControl, "Check the rig: drifted."
	proof.Proof.Passed, proof.Proof.Says = false, []string{"At 25 ml the rig reads +12.0 % off."}
	s := rig.NewStanding(now, subject, append([]rig.Record{check, proof}, whole()...)...)
	assert.Equal(t, rig.Failed, s.Check.State)
	assert.False(t, s.Trusted())
	check.Check.State = rig.Unchecked
	assert.True(t, rig.NewStanding(now, subject, check).Trusted(), "a check that says nothing is no alarm")
	check.Check.State = rig.OutOfControl
	assert.Equal(t, "Check the rig: drifted.", s.Notes()[0], "what stops the bench comes first")
	assert.False(t, s.Proven())
	assert.Equal(t, "Rig not proven: At 25 ml the rig reads +12.0 % off.", s.Proof.Says)
}

// checked is a check with a leak, so many days ago, and how it left the rig.
func checked(leak string, daysAgo int, state rig.Control) rig.Record {
	r := record(rig.KindCheck, daysAgo)
	r.Leak, r.Check.State, r.Check.Says = leak, state, string(state)+" by "+leak
	return r
}

func TestACheckThatFailedStandsUntilTheSameLeakSaysOtherwise(t *testing.T) {
	failed := checked("RL-7", 5, rig.OutOfControl)
	passed := record(rig.KindProof, 3)
	elsewhere := passed
	elsewhere.Rig.Hose = "other"
	for name, c := range map[string]struct {
		later []rig.Record
		trust bool
		says  string
	}{
		"with nothing after it":         {nil, false, "out of control by RL-7"},
		"after one that says nothing":   {[]rig.Record{checked("RL-7", 2, rig.Unchecked)}, false, "out of control by RL-7"},
		"after one with another leak":   {[]rig.Record{checked("RL-8", 2, rig.InControl)}, false, "out of control by RL-7"},
		"not after one that clears it":  {[]rig.Record{checked("RL-7", 2, rig.InControl)}, true, ""},
		"not after a proof":             {[]rig.Record{passed}, true, "The rig has not been checked with a reference leak since it was proven."},
		"but after that of another rig": {[]rig.Record{elsewhere}, false, "out of control by RL-7"},
		"nor after a proof and a check": {[]rig.Record{passed, checked("RL-8", 2, rig.InControl)}, true, ""},
		"a failure after a proof counts": {[]rig.Record{passed, checked("RL-8", 2, rig.OutOfControl), checked("RL-7", 1, rig.InControl)},
			false, "out of control by RL-8"},
	} {
		t.Run(name, func(t *testing.T) {
			s := rig.NewStanding(now, subject, append(c.later, failed)...)
			assert.Equal(t, c.trust, s.Trusted())
			assert.Equal(t, c.says, s.Check.Says)
		})
	}
	s := rig.NewStanding(now, subject, checked("RL-7", 1, rig.Unchecked), checked("RL-7", 5, rig.InControl))
	assert.Equal(t, "unchecked by RL-7", s.Check.Says)
	assert.True(t, s.Trusted())
}

func TestTwoRigsInOneLedgerKeepWhatIsTheirs(t *testing.T) {
	other := subject
	other.Rig.Gauge, other.Rig.Hose = "HX-0999", "black 3 mm"
	records := whole()
	for _, r := range whole() {
		r.ID, r.Rig, r.ValidFrom = r.ID+" of the other", other.Rig, r.ValidFrom.Add(aDay)
		records = append(records, r)
	}
	one, two := rig.NewStanding(now, subject, records...), rig.NewStanding(now, other, records...)
	assert.Equal(t, []string{"calibration-10", "volume-10", "blank-10", "check-10", "proof-10"}, one.Used(), "the other's are newer")
	assert.Equal(t, []string{
		"calibration-10 of the other", "volume-10 of the other", "blank-10 of the other", "check-10 of the other", "proof-10 of the other",
	}, two.Used())

	third := subject
	third.Rig.Hose = "red"
	s := rig.NewStanding(now, third, records...)
	assert.Equal(t, rig.Changed, s.Volume.State)
	assert.Equal(t, "volume-10 of the other", s.Volume.Record.ID, "without one of its own, the newest")
}

func TestABlankThatDoesNotHoldSaysThatItIsNotSubtracted(t *testing.T) {
	s := rig.NewStanding(now, subject, record(rig.KindBlank, 400))
	assert.Equal(t, "The blank of 3 Feb 2025 is overdue since 3 Feb 2026. It is not subtracted: what the rig leaks counts as the joint's.", s.Blank.Says)
	other := subject
	other.Rig.Hose = "red"
	s = rig.NewStanding(now, other, record(rig.KindBlank, 4))
	assert.Equal(t, "The rig was changed since its blank (hose): take a new one. It is not subtracted: what the rig leaks counts as the joint's.", s.Blank.Says)
}

func TestRecordsFromTheFutureOrWithoutContentAreLeftOut(t *testing.T) {
	empty := record(rig.KindVolume, 1)
	empty.Volume = nil
	s := rig.NewStanding(now, subject, record(rig.KindCalibration, -2), empty)
	assert.Equal(t, rig.Missing, s.Calibration.State)
	assert.Equal(t, rig.Missing, s.Volume.State)
}

func TestOrderOfRecordsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var all []rig.Record
		for _, k := range kinds {
			for day := range 4 {
				r := record(k, 100*day+rapid.IntRange(0, 99).Draw(t, "day"))
				if rapid.Bool().Draw(t, "another hose") {
					r.Rig.Hose = "other"
				}
				all = append(all, r)
			}
		}
		shuffled := rapid.Permutation(all).Draw(t, "order")
		assert.Equal(t, rig.NewStanding(now, subject, all...), rig.NewStanding(now, subject, shuffled...))
	})
}

func TestRecordSurvivesJSON(t *testing.T) {
	for _, r := range whole() {
		text, err := json.Marshal(r)
		require.NoError(t, err)
		var back rig.Record
		require.NoError(t, json.Unmarshal(text, &back))
		assert.Equal(t, r, back)
	}
}

// A record of a real calibration holds no NaN or infinity, which JSON has no word for.
func TestRealCalibrationSurvivesJSON(t *testing.T) {
	c, err := rig.CalibrateAgainst(benchColumn(), suctionGauge, levels(benchColumn(), 0.98, 5, 1))
	require.NoError(t, err)
	text, err := json.Marshal(rig.Record{Kind: rig.KindCalibration, Calibration: &c})
	require.NoError(t, err)
	var back rig.Record
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, c, *back.Calibration)
	assert.NotContains(t, string(text), "valid_until", "never due has no date")
}

func TestFigureOfARecord(t *testing.T) {
	want := map[rig.Kind]struct {
		value float64
		unit  string
	}{
		rig.KindCalibration: {1.01, "1"}, rig.KindVolume: {60e-6, "m³"}, rig.KindBlank: {2e-5, "Pa·m³/s"},
		rig.KindCheck: {0.01, "1"}, rig.KindProof: {0.4, "1"},
	}
	for _, r := range whole() {
		value, unit := r.Figure()
		assert.InDelta(t, want[r.Kind].value, value.Value, 1e-12, r.Kind)
		assert.Equal(t, want[r.Kind].unit, unit)
	}
}
