package metrics

import (
	"math"
	"slices"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"boretight/internal/bench"
	"boretight/internal/rig"
)

// verdicts are the values of the label verdict; all are there from the start, so that
// rates are right from the first hold on.
var verdicts = [...]string{"pass", "fail", "inconclusive", "none"}

// descriptions are fixed: nothing writes to them after they are made.
var (
	gaugeUp         = gaugeDesc("up", "Whether the gauge is heard: 1 or 0. Moves when it is plugged, unplugged or falls silent.")
	gaugePressure   = gaugeDesc("pressure_pascals", "Latest reading, bore minus ambient, against the zero of the last rest. Moves with each reading; absent while the gauge is not heard.")
	gaugeReadings   = gaugeDesc("readings_total", "Readings taken. Moves with each reading.")
	gaugeLost       = gaugeDesc("readings_lost_total", "Readings missing between those that came, by their numbers or, where a gauge has none, by their times. Moves when a gap is seen.")
	gaugeDamaged    = gaugeDesc("lines_damaged_total", "Lines that could not be read. Moves with each such line.")
	gaugeReconnects = gaugeDesc("reconnects_total", "Times that the gauge was opened again. Moves when it comes back.")

	holds = prometheus.NewDesc("boretight_holds_total",
		"Holds ended since the program started, by verdict. Moves when a hold ends.", []string{"verdict"}, nil)
	leakRate = jointDesc("leak_rate_pascal_cubic_meters_per_second",
		"Leakage rate of the last hold of the present trial, at the stated test pressure difference. Moves when a hold ends; absent until then.")
	leakRateU = jointDesc("leak_rate_uncertainty_pascal_cubic_meters_per_second",
		"Standard uncertainty of that leakage rate. Moves with it.")
	blankRate = rigDesc("rig_blank_leak_rate_pascal_cubic_meters_per_second",
		"What the rig itself leaks by the newest blank on record, at its stated test pressure difference. Moves when a blank is recorded; absent while none of this rig is on record.")
	leakDeviation = rigDesc("reference_leak_deviation_ratio",
		"Reference leak as read over as certified, less 1, in the newest check on record. Moves when a check is recorded; absent while none of this rig is on record.")
	calibrationAge = prometheus.NewDesc("boretight_calibration_age_seconds",
		"Time since the calibration of the gauge that is on record, due or not. Moves always; back to 0 when a calibration is recorded; absent while none of this gauge is on record.", []string{"gauge"}, nil)
	ledgerRecords = prometheus.NewDesc("boretight_ledger_records",
		"Records in the ledger. Moves when something is recorded.", nil, nil)
	ledgerLag = prometheus.NewDesc("boretight_ledger_lag_seconds",
		"How far recording is behind; over 1 s is said on the page. Moves when the disk is slow.", nil, nil)
	pageDropped = prometheus.NewDesc("boretight_page_events_dropped_total",
		"Events that browsers lost because they took them too slowly; what is recorded is whole all the same. Moves when a browser does not keep up.", nil, nil)
)

func gaugeDesc(name, help string) *prometheus.Desc {
	return prometheus.NewDesc("boretight_gauge_"+name, help, []string{"gauge"}, nil)
}

func jointDesc(name, help string) *prometheus.Desc {
	return prometheus.NewDesc("boretight_"+name, help, []string{"bench", "instrument", "joint", "section", "when"}, nil)
}

// rigDesc is of the rig of one gauge: a bench may have several.
func rigDesc(name, help string) *prometheus.Desc {
	return prometheus.NewDesc("boretight_"+name, help, []string{"bench", "gauge"}, nil)
}

// collector turns a snapshot into metrics.
type collector struct{ bench Bench }

var _ prometheus.Collector = collector{}

func (collector) Describe(out chan<- *prometheus.Desc) {
	for _, desc := range []*prometheus.Desc{
		gaugeUp, gaugePressure, gaugeReadings, gaugeLost, gaugeDamaged, gaugeReconnects,
		holds, leakRate, leakRateU, blankRate, leakDeviation, calibrationAge, ledgerRecords, ledgerLag, pageDropped,
	} {
		out <- desc
	}
}

func (c collector) Collect(out chan<- prometheus.Metric) {
	snapshot := c.bench.Snapshot()
	for _, g := range snapshot.Gauges {
		collectGauge(out, g)
	}
	for _, r := range snapshot.Rigs {
		collectRig(out, snapshot.Bench, r)
	}
	for _, verdict := range verdicts {
		send(out, holds, prometheus.CounterValue, float64(snapshot.Verdicts[verdict]), verdict)
	}
	send(out, ledgerRecords, prometheus.GaugeValue, float64(snapshot.Ledger.Records))
	send(out, ledgerLag, prometheus.GaugeValue, snapshot.Ledger.Lag)
	send(out, pageDropped, prometheus.CounterValue, float64(snapshot.Dropped))
	collectResults(out, snapshot)
}

// collectResults sends the newest leakage rate of what lies on the bench on each gauge. Two
// gauges on joints of one name are one series, which takes the newer.
func collectResults(out chan<- prometheus.Metric, snapshot bench.Snapshot) {
	type subject struct{ bench, instrument, joint, section, when string }
	newest := make(map[subject]bench.HoldData)
	for _, g := range snapshot.Gauges {
		s := g.Setup
		of := subject{s.Bench, s.Instrument, s.Joint, s.Section, s.When}
		result, ok := lastResult(snapshot, g)
		if other, there := newest[of]; ok && (!there || result.Ended.After(other.Ended)) {
			newest[of] = result
		}
	}
	for of, result := range newest {
		labels := []string{of.bench, of.instrument, of.joint, of.section, of.when}
		send(out, leakRate, prometheus.GaugeValue, result.LeakRate.Value, labels...)
		send(out, leakRateU, prometheus.GaugeValue, result.LeakRate.U, labels...)
	}
}

func collectGauge(out chan<- prometheus.Metric, g bench.GaugeState) {
	up := 0.0
	if g.Up {
		up = 1
		send(out, gaugePressure, prometheus.GaugeValue, g.Pressure-g.RestLevel, g.Name)
	}
	send(out, gaugeUp, prometheus.GaugeValue, up, g.Name)
	send(out, gaugeReadings, prometheus.CounterValue, float64(g.Readings), g.Name)
	send(out, gaugeLost, prometheus.CounterValue, float64(g.Lost), g.Name)
	send(out, gaugeDamaged, prometheus.CounterValue, float64(g.Damaged), g.Name)
	send(out, gaugeReconnects, prometheus.CounterValue, float64(g.Reconnects), g.Name)
}

// collectRig sends what is on record of a rig, be it overdue: that is when to look. What
// was measured of another rig says nothing of this one.
func collectRig(out chan<- prometheus.Metric, benchName string, r bench.RigState) {
	figures := map[rig.Kind]*prometheus.Desc{rig.KindBlank: blankRate, rig.KindCheck: leakDeviation}
	newest := make(map[rig.Kind]bench.RigItem)
	for _, item := range r.Known {
		if item.State == rig.Missing || item.State == rig.Changed {
			continue
		}
		if before, ok := newest[item.Kind]; !ok || item.ValidFrom.After(before.ValidFrom) {
			newest[item.Kind] = item // of blanks there may be one a sign
		}
	}
	for kind, item := range newest {
		switch desc := figures[kind]; {
		case kind == rig.KindCalibration:
			send(out, calibrationAge, prometheus.GaugeValue, time.Since(item.ValidFrom).Seconds(), r.Gauge)
		case desc != nil && item.Figure != nil:
			send(out, desc, prometheus.GaugeValue, item.Figure.Value, benchName, r.Gauge)
		}
	}
}

// send leaves out what is no number: an average over a NaN is one too.
func send(out chan<- prometheus.Metric, desc *prometheus.Desc, kind prometheus.ValueType, value float64, labels ...string) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return
	}
	out <- prometheus.MustNewConstMetric(desc, kind, value, labels...)
}

// lastResult returns the newest hold with a leakage rate of what lies on the bench on a
// gauge, whose names become its labels. What was set aside counts for nothing, nor does what
// was measured before it was laid there, until the first hold of its trial.
func lastResult(snapshot bench.Snapshot, g bench.GaugeState) (bench.HoldData, bool) {
	if g.Trial == nil {
		return bench.HoldData{}, false
	}
	i := slices.IndexFunc(snapshot.Holds, func(h bench.HoldData) bool {
		return h.Gauge == g.Name && h.On.Same(g.Setup) && h.Voided == "" && h.LeakRate != nil
	})
	if i < 0 {
		return bench.HoldData{}, false
	}
	return snapshot.Holds[i], true
}
