package web_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/trial"
)

// fakeBench plays holds of a joint that leaks at a given rate. Its physics is a plain
// exponential: enough for a page.
type fakeBench struct {
	*bench.Hub

	mu       sync.Mutex
	snapshot bench.Snapshot
	recent   []bench.Sample
	random   *rand.Rand
	t        float64 // stream clock in s
	id       int
}

const (
	fakeZero   = 14.0   // Pa, what the gauge shows at rest
	fakeTop    = 2780.0 // Pa, where a draw ends
	fakeLimit  = 2.5    // sccm
	fakeRule   = "pass when P(q ≤ L) ≥ 0.95, fail when P(q > L) ≥ 0.95, else inconclusive (JCGM 106): at most 5 % risk of a wrong verdict"
	fakeVolume = 34.2e-6 // m³
	sccm       = 1.68875e-3 * 293.15 / 273.15
)

func newFake() *fakeBench {
	return &fakeBench{
		Hub:    bench.NewHub(64),
		random: rand.New(rand.NewPCG(1, 2)),
		snapshot: bench.Snapshot{
			Started: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC),
			Bench:   "Bench 1",
			Gauges: []bench.GaugeState{{Name: "left",
				Setup: bench.Setup{Bench: "Bench 1", Instrument: "oboe", Joint: "upper", When: "as_found",
					Ticket: "2026-0117", LimitSCCM: fakeLimit, VolumeM3: fakeVolume, At: 2500},
				Address: "sim:oboe", Serial: "HX-0417",
				StateData: bench.StateData{Gauge: "left", Up: true, Phase: "rest", RestLevel: fakeZero}}},
			Verdicts: map[string]uint64{},
			Ledger:   bench.LedgerState{Path: "shop.ledger", Records: 412},
		},
	}
}

func (f *fakeBench) Snapshot() bench.Snapshot {
	f.mu.Lock()
	defer f.mu.Unlock()
	s := f.snapshot
	s.Gauges = append([]bench.GaugeState(nil), s.Gauges...)
	s.Holds = append([]bench.HoldData(nil), s.Holds...)
	return s
}

// Recent is everything that was published of the gauge.
func (f *fakeBench) Recent(gauge string) []bench.Sample {
	f.mu.Lock()
	defer f.mu.Unlock()
	if gauge != "left" {
		return nil
	}
	return slices.Clone(f.recent)
}

// change changes the snapshot.
func (f *fakeBench) change(with func(*bench.Snapshot)) {
	f.mu.Lock()
	defer f.mu.Unlock()
	with(&f.snapshot)
}

// state changes the gauge's state and publishes it.
func (f *fakeBench) state(with func(*bench.StateData)) {
	var data bench.StateData
	f.change(func(s *bench.Snapshot) {
		with(&s.Gauges[0].StateData)
		data = s.Gauges[0].StateData
	})
	f.Publish(bench.EventState, data)
}

func (f *fakeBench) phase(name string) {
	f.state(func(s *bench.StateData) { s.Phase, s.Since = name, f.t })
}

// readings publishes some seconds of readings at 50 Hz.
func (f *fakeBench) readings(seconds float64, pressure func(t float64) float64) []bench.Sample {
	var all []bench.Sample
	begin := f.t
	for range int(seconds * 50) {
		f.t += 0.02
		all = append(all, bench.Sample{T: f.t, Pressure: pressure(f.t-begin) + 3*f.random.NormFloat64()})
	}
	f.change(func(s *bench.Snapshot) {
		s.Gauges[0].Pressure = all[len(all)-1].Pressure
		f.recent = append(f.recent, all...)
	})
	f.Publish(bench.EventReading, bench.ReadingData{Gauge: "left", Readings: all})
	return all
}

func (f *fakeBench) rest(seconds float64) {
	f.phase("rest")
	f.readings(seconds, func(float64) float64 { return 0 })
}

func (f *fakeBench) draw() []bench.Sample {
	f.phase("drawing")
	return f.readings(1.6, func(t float64) float64 { return -fakeTop * math.Min(1, t/1.4) })
}

// timeConstant of a joint that leaks q sccm, in s.
func timeConstant(q float64) float64 { return fakeVolume * 2500 / (q * sccm) }

// hold plays settling and holding for some seconds with the running answer.
func (f *fakeBench) hold(q, u, seconds float64, verdict trial.Verdict) (trace []bench.Sample, isolation float64) {
	tau := timeConstant(q)
	isolation = f.t
	f.state(func(s *bench.StateData) { s.Phase, s.Since, s.Isolation = "settling", f.t, isolation })
	trace = f.readings(1, func(t float64) float64 { return -fakeTop * math.Exp(-t/tau) })
	f.phase("holding")
	trace = append(trace, f.readings(seconds-1, func(t float64) float64 { return -fakeTop * math.Exp(-(t+1)/tau) })...)
	estimate := bench.EstimateData{
		Gauge:   "left",
		Held:    seconds,
		Outcome: outcome(q, u, verdict, isolation, seconds),
		Curve:   exponential(q, isolation, seconds+12, u/q),
		Wedge:   exponential(fakeLimit, isolation, 30, 0),
	}
	f.change(func(s *bench.Snapshot) { s.Gauges[0].Estimate = &estimate })
	f.Publish(bench.EventEstimate, estimate)
	return trace, isolation
}

// exponential is the curve of a leak of q sccm in gauge pressure, zero included.
func exponential(q, isolation, seconds, relative float64) []decay.Point {
	points := make([]decay.Point, 60)
	for i := range points {
		t := seconds * float64(i) / 59
		p := -fakeTop * math.Exp(-t/timeConstant(q))
		points[i] = decay.Point{T: isolation + t, Pressure: p + fakeZero, U: math.Abs(p) * relative * t / timeConstant(q)}
	}
	return points
}

func outcome(q, u float64, verdict trial.Verdict, isolation, seconds float64) trial.Outcome {
	chance := 0.5 * math.Erfc((q-fakeLimit)/u/math.Sqrt2)
	o := trial.Outcome{
		Schema: trial.SchemaHold, Gauge: "left", Sign: "suction", At: 2500,
		LeakRate: &trial.LeakRate{Unit: "Pa·m³/s", Coverage: 0.95,
			Estimate: decay.Estimate{Value: q * sccm, U: u * sccm, Low: (q - 1.96*u) * sccm, High: (q + 1.96*u) * sccm}},
		SCCM:         &decay.Estimate{Value: q, U: u, Low: q - 1.96*u, High: q + 1.96*u},
		TimeConstant: &trial.Value{Value: timeConstant(q), U: 0.1},
		Hold:         &trial.Extent{Start: isolation, End: isolation + seconds, DeltaStart: fakeTop, DeltaEnd: 1000, Readings: 900},
		Zero:         &trial.Value{Value: fakeZero, U: 0.3},
		Verdict:      verdict,
		Notes:        []string{"Ambient pressure was not told: 101.325 ± 3 kPa taken."},
		Budget: []decay.Contribution{
			{Source: "volume", U: 0.8 * u * sccm, URelative: 0.8 * u / q}, {Source: "noise", U: 0.6 * u * sccm, URelative: 0.6 * u / q},
			{Source: "ambient", U: 0.01 * u * sccm, URelative: 0.01 * u / q},
		},
		Method: decay.Method,
	}
	if verdict != trial.None {
		o.Decision = &trial.Decision{LimitSCCM: fakeLimit, Limit: fakeLimit * sccm, Rule: fakeRule, PConform: chance}
		if verdict == trial.Inconclusive {
			o.Decision.Next = "hold 12 s longer, or two more holds"
		}
	}
	return o
}

// disturbed plays a hold of 10 s that passes, of which only the first seconds count.
func (f *fakeBench) disturbed(after float64) bench.HoldData {
	data := f.whole(2.16, 0.022, 10, trial.Pass)
	f.change(func(s *bench.Snapshot) {
		h := &s.Holds[0]
		h.Disturbed = true
		h.Hold = &trial.Extent{Start: h.Hold.Start, End: h.Hold.Start + after, Held: 10}
		h.Pressing = 2
		h.Notes = []string{"A leak opened.", "Limits were guessed.", "Much was assumed.", "So was this."}
		data = *h
	})
	f.Publish(bench.EventHold, data)
	return data
}

// whole plays one whole hold and returns what was published of it.
func (f *fakeBench) whole(q, u, seconds float64, verdict trial.Verdict) bench.HoldData {
	f.rest(3)
	trace := f.draw()
	held, isolation := f.hold(q, u, seconds, verdict)
	trace = append(trace, held...)
	f.state(func(s *bench.StateData) { s.Phase, s.Since, s.Isolation = "venting", f.t, 0 })
	last := held[len(held)-1].Pressure
	trace = append(trace, f.readings(1, func(t float64) float64 { return last * math.Exp(-t/0.1) })...)
	f.id++
	data := bench.HoldData{
		On:      f.Snapshot().Gauges[0].Setup,
		Outcome: outcome(q, u, verdict, isolation, seconds),
		Ended:   time.Date(2026, 3, 2, 10, 20, f.id*40, 0, time.UTC),
		Curve:   exponential(q, isolation, seconds+12, u/q),
	}
	data.ID = "h" + string(rune('0'+f.id))
	for i := 0; i < len(trace); i += max(1, len(trace)/300) {
		data.Trace = append(data.Trace, trace[i])
	}
	f.change(func(s *bench.Snapshot) {
		s.Holds = append([]bench.HoldData{data}, s.Holds...)
		s.Gauges[0].Estimate = nil
		s.Verdicts[string(verdict)]++
		s.Gauges[0].Trial = &trial.Trial{Schema: trial.SchemaTrial, Holds: len(s.Holds), Used: len(s.Holds),
			LeakRate: data.LeakRate, SCCM: data.SCCM, Verdict: verdict, Decision: data.Decision}
		for _, c := range data.Budget {
			s.Gauges[0].Trial.Budget = append(s.Gauges[0].Trial.Budget, trial.Line{Contribution: c})
		}
	})
	f.Publish(bench.EventHold, data)
	f.Publish(bench.EventTrial, bench.TrialData{Gauge: "left", Trial: *f.Snapshot().Gauges[0].Trial})
	f.phase("rest")
	f.readings(1, func(float64) float64 { return 0 })
	return data
}
