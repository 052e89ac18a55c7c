package metrics_test

import (
	"math"
	"net/http/httptest"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/metrics"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// An observer of the bench, without which the distributions stay empty.
var _ bench.Observer = (*metrics.Metrics)(nil)

type fixed bench.Snapshot

func (f fixed) Snapshot() bench.Snapshot { return bench.Snapshot(f) }

func hold(rate *trial.LeakRate) bench.HoldData {
	return bench.HoldData{On: upper(), Outcome: trial.Outcome{Gauge: "left", Hold: &trial.Extent{}, LeakRate: rate}}
}

// upper is what lies on the bench.
func upper() bench.Setup {
	return bench.Setup{Bench: "bench 1", Instrument: "oboe", Joint: "upper", When: "as_found"}
}

// others are holds that are none of the present trial: one that was never shut off,
// and one of another gauge.
func others() (open, elsewhere bench.HoldData) {
	open, elsewhere = hold(nil), hold(rate(2, 2))
	open.Hold, elsewhere.Gauge = nil, "right"
	return open, elsewhere
}

func rate(value, u float64) *trial.LeakRate {
	return &trial.LeakRate{Estimate: decay.Estimate{Value: value, U: u}}
}

func example() bench.Snapshot {
	open, elsewhere := others()
	return bench.Snapshot{
		Bench: "bench 1",
		Gauges: []bench.GaugeState{
			{Name: "left", Setup: upper(), Trial: &trial.Trial{Holds: 2}, Serial: "HX-0417", StateData: bench.StateData{Up: true, RestLevel: 12.5}, Pressure: -2500, Readings: 1200, Lost: 3, Damaged: 2, Reconnects: 1},
			{Name: "right", Pressure: -7},
		},
		Rigs:     []bench.RigState{{Gauge: "left", Known: onRecord()}, {Gauge: "right", Known: []bench.RigItem{{Kind: rig.KindBlank, State: rig.Missing}}}},
		Holds:    []bench.HoldData{open, hold(nil), elsewhere, hold(rate(3.94e-3, 4e-5)), hold(rate(1, 1))},
		Verdicts: map[string]uint64{"pass": 4, "fail": 1},
		Ledger:   bench.LedgerState{Records: 412, Lag: 0.25},
		Dropped:  17,
	}
}

// onRecord is what is known of the rig of the left gauge.
func onRecord() []bench.RigItem {
	taken := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	return []bench.RigItem{
		{Kind: rig.KindCalibration, State: rig.Overdue, ValidFrom: taken, Figure: &trial.Value{Value: 1.002}},
		{Kind: rig.KindBlank, State: rig.Holds, ValidFrom: taken.AddDate(0, 0, 1), Figure: &trial.Value{Value: 2.5e-4}},
		{Kind: rig.KindBlank, State: rig.Holds, ValidFrom: taken, Figure: &trial.Value{Value: 7}, Sign: "pressure"},
		{Kind: rig.KindCheck, State: rig.Failed, ValidFrom: taken, Figure: &trial.Value{Value: -0.125}},
	}
}

func watching(t *testing.T, s bench.Snapshot) *metrics.Metrics {
	t.Helper()
	m := metrics.New("1.2.3")
	require.NoError(t, m.Watch(fixed(s)))
	return m
}

const want = `
# HELP boretight_gauge_lines_damaged_total Lines that could not be read. Moves with each such line.
# TYPE boretight_gauge_lines_damaged_total counter
boretight_gauge_lines_damaged_total{gauge="left"} 2
boretight_gauge_lines_damaged_total{gauge="right"} 0
# HELP boretight_gauge_pressure_pascals Latest reading, bore minus ambient, against the zero of the last rest. Moves with each reading; absent while the gauge is not heard.
# TYPE boretight_gauge_pressure_pascals gauge
boretight_gauge_pressure_pascals{gauge="left"} -2512.5
# HELP boretight_gauge_readings_lost_total Readings missing between those that came, by their numbers or, where a gauge has none, by their times. Moves when a gap is seen.
# TYPE boretight_gauge_readings_lost_total counter
boretight_gauge_readings_lost_total{gauge="left"} 3
boretight_gauge_readings_lost_total{gauge="right"} 0
# HELP boretight_gauge_readings_total Readings taken. Moves with each reading.
# TYPE boretight_gauge_readings_total counter
boretight_gauge_readings_total{gauge="left"} 1200
boretight_gauge_readings_total{gauge="right"} 0
# HELP boretight_gauge_reconnects_total Times that the gauge was opened again. Moves when it comes back.
# TYPE boretight_gauge_reconnects_total counter
boretight_gauge_reconnects_total{gauge="left"} 1
boretight_gauge_reconnects_total{gauge="right"} 0
# HELP boretight_gauge_up Whether the gauge is heard: 1 or 0. Moves when it is plugged, unplugged or falls silent.
# TYPE boretight_gauge_up gauge
boretight_gauge_up{gauge="left"} 1
boretight_gauge_up{gauge="right"} 0
# HELP boretight_holds_total Holds ended since the program started, by verdict. Moves when a hold ends.
# TYPE boretight_holds_total counter
boretight_holds_total{verdict="fail"} 1
boretight_holds_total{verdict="inconclusive"} 0
boretight_holds_total{verdict="none"} 0
boretight_holds_total{verdict="pass"} 4
# HELP boretight_leak_rate_pascal_cubic_meters_per_second Leakage rate of the last hold of the present trial, at the stated test pressure difference. Moves when a hold ends; absent until then.
# TYPE boretight_leak_rate_pascal_cubic_meters_per_second gauge
boretight_leak_rate_pascal_cubic_meters_per_second{bench="bench 1",instrument="oboe",joint="upper",section="",when="as_found"} 0.00394
# HELP boretight_leak_rate_uncertainty_pascal_cubic_meters_per_second Standard uncertainty of that leakage rate. Moves with it.
# TYPE boretight_leak_rate_uncertainty_pascal_cubic_meters_per_second gauge
boretight_leak_rate_uncertainty_pascal_cubic_meters_per_second{bench="bench 1",instrument="oboe",joint="upper",section="",when="as_found"} 4e-05
# HELP boretight_reference_leak_deviation_ratio Reference leak as read over as certified, less 1, in the newest check on record. Moves when a check is recorded; absent while none of this rig is on record.
# TYPE boretight_reference_leak_deviation_ratio gauge
boretight_reference_leak_deviation_ratio{bench="bench 1",gauge="left"} -0.125
# HELP boretight_rig_blank_leak_rate_pascal_cubic_meters_per_second What the rig itself leaks by the newest blank on record, at its stated test pressure difference. Moves when a blank is recorded; absent while none of this rig is on record.
# TYPE boretight_rig_blank_leak_rate_pascal_cubic_meters_per_second gauge
boretight_rig_blank_leak_rate_pascal_cubic_meters_per_second{bench="bench 1",gauge="left"} 0.00025
# HELP boretight_ledger_lag_seconds How far recording is behind; over 1 s is said on the page. Moves when the disk is slow.
# TYPE boretight_ledger_lag_seconds gauge
boretight_ledger_lag_seconds 0.25
# HELP boretight_ledger_records Records in the ledger. Moves when something is recorded.
# TYPE boretight_ledger_records gauge
boretight_ledger_records 412
# HELP boretight_page_events_dropped_total Events that browsers lost because they took them too slowly; what is recorded is whole all the same. Moves when a browser does not keep up.
# TYPE boretight_page_events_dropped_total counter
boretight_page_events_dropped_total 17
`

func TestScrapeSaysWhatTheSnapshotSays(t *testing.T) {
	m := watching(t, example())
	names := regexp.MustCompile(`(?m)^# TYPE (\S+)`).FindAllStringSubmatch(want, -1)
	var compared []string
	for _, name := range names {
		compared = append(compared, name[1])
	}
	assert.NoError(t, testutil.GatherAndCompare(m.Gatherer(), strings.NewReader(want), compared...))
}

func TestLeakageRateIsNeverThatOfAnotherJoint(t *testing.T) {
	const name = "boretight_leak_rate_pascal_cubic_meters_per_second"
	count := func(change func(*bench.Snapshot)) int {
		s := example()
		change(&s)
		n, err := testutil.GatherAndCount(watching(t, s).Gatherer(), name)
		require.NoError(t, err)
		return n
	}
	assert.Equal(t, 1, count(func(*bench.Snapshot) {}))
	assert.Zero(t, count(func(s *bench.Snapshot) { s.Gauges[0].Trial = nil }), "the setup changed: the last hold was of another joint")
	assert.Zero(t, count(func(s *bench.Snapshot) {
		s.Gauges[0].Setup.Joint, s.Holds[1].On.Joint = "lower", "lower"
		s.Gauges[0].Trial.Holds = 5
	}), "its only hold gave no rate, those before were of another joint")
	assert.Zero(t, count(func(s *bench.Snapshot) { s.Holds[3].Voided, s.Holds[4].Voided = "a finger slipped", "the hose" }))
	assert.Zero(t, count(func(s *bench.Snapshot) { s.Holds[3].LeakRate.Value = math.NaN() }), "no number, no metric")
}

func TestTheAgeOfACalibrationRunsOn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := example()
		s.Rigs[0].Known[0].ValidFrom = time.Now().Add(-36 * time.Hour)
		m := watching(t, s)
		age := func(seconds int) string {
			return `
# HELP boretight_calibration_age_seconds Time since the calibration of the gauge that is on record, due or not. Moves always; back to 0 when a calibration is recorded; absent while none of this gauge is on record.
# TYPE boretight_calibration_age_seconds gauge
boretight_calibration_age_seconds{gauge="left"} ` + strconv.Itoa(seconds) + "\n"
		}
		assert.NoError(t, testutil.GatherAndCompare(m.Gatherer(), strings.NewReader(age(129600)), "boretight_calibration_age_seconds"))
		time.Sleep(time.Minute) // of the bubble's own time
		assert.NoError(t, testutil.GatherAndCompare(m.Gatherer(), strings.NewReader(age(129660)), "boretight_calibration_age_seconds"))
	})
}

func TestNothingIsToldOfARigThatNobodyMeasured(t *testing.T) {
	count := func(rigs ...bench.RigState) int {
		s := example()
		s.Rigs = rigs
		n, err := testutil.GatherAndCount(watching(t, s).Gatherer(), "boretight_calibration_age_seconds",
			"boretight_reference_leak_deviation_ratio", "boretight_rig_blank_leak_rate_pascal_cubic_meters_per_second")
		require.NoError(t, err)
		return n
	}
	one := func(with func(items []bench.RigItem)) bench.RigState {
		s := bench.RigState{Gauge: "left", Known: onRecord()}
		with(s.Known)
		return s
	}
	assert.Equal(t, 3, count(one(func([]bench.RigItem) {})))
	assert.Equal(t, 5, count(one(func([]bench.RigItem) {}), bench.RigState{Gauge: "right", Known: onRecord()[1:]}), "each gauge has its rig")
	assert.Zero(t, count())
	assert.Equal(t, 2, count(one(func(items []bench.RigItem) { items[3].State = rig.Changed })), "another hose is another rig")
	assert.Equal(t, 2, count(one(func(items []bench.RigItem) { items[3].Figure = nil })))
}

func TestDistributionsAreObserved(t *testing.T) {
	m := watching(t, example())
	m.HoldEnded(12 * time.Second)
	m.FitTook(4 * time.Millisecond)
	m.LedgerWriteTook(700 * time.Microsecond)
	w := httptest.NewRecorder()
	m.Handler().ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), "GET", "/metrics", nil))
	for _, line := range []string{
		`boretight_hold_duration_seconds_bucket{le="10"} 0`,
		`boretight_hold_duration_seconds_bucket{le="15"} 1`,
		`boretight_hold_duration_seconds_sum 12`,
		`boretight_fit_duration_seconds_bucket{le="0.003"} 0`,
		`boretight_fit_duration_seconds_bucket{le="0.01"} 1`,
		`boretight_ledger_write_duration_seconds_bucket{le="0.001"} 1`,
	} {
		assert.Contains(t, w.Body.String(), line+"\n")
	}
	assert.Contains(t, w.Body.String(), `version="1.2.3"`)
	assert.NotContains(t, w.Body.String(), "HX-0417", "no serial numbers")
}

func TestNamesFollowTheConventions(t *testing.T) {
	problems, err := testutil.GatherAndLint(watching(t, example()).Gatherer())
	require.NoError(t, err)
	for _, p := range problems {
		// The gauge on the bench is what these are about; their type is not meant.
		assert.True(t, strings.HasPrefix(p.Metric, "boretight_gauge_"), "%s: %s", p.Metric, p.Text)
		assert.Contains(t, p.Text, "gauge", p.Metric)
	}
}

// The list of metrics is a contract: what is scraped is listed, what is listed exists.
func TestEveryMetricIsListed(t *testing.T) {
	page, err := os.ReadFile("../../dashboards/README.md")
	require.NoError(t, err)
	var listed []string
	for _, row := range regexp.MustCompile("(?m)^\\| `(boretight_[a-z_]+)`").FindAllStringSubmatch(string(page), -1) {
		listed = append(listed, row[1])
	}
	families, err := watching(t, example()).Gatherer().Gather()
	require.NoError(t, err)
	var gathered []string
	for _, family := range families {
		gathered = append(gathered, family.GetName())
	}
	slices.Sort(listed)
	require.NotEmpty(t, listed)
	assert.Equal(t, gathered, listed)
}

func TestABenchIsWatchedOnce(t *testing.T) {
	m := watching(t, example())
	assert.ErrorContains(t, m.Watch(fixed{}), "watch bench")
}
