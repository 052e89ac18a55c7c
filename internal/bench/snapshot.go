package bench

import (
	"maps"
	"slices"

	"boretight/internal/hold"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

// Snapshot returns the present state as a copy. It never waits for a fit or a disk.
func (b *Bench) Snapshot() Snapshot {
	b.mu.Lock()
	s := Snapshot{
		Started:  b.started,
		Bench:    b.lines[0].laid.settings.Setup.Bench,
		Holds:    slices.Clone(b.holds),
		Verdicts: maps.Clone(b.verdicts),
		Ledger:   LedgerState{Problem: b.problem},
		Dropped:  b.hub.Dropped(),
	}
	b.mu.Unlock()
	s.Rigs = b.rigs()
	s.Ledger = b.ledgerState(s.Ledger.Problem)
	for _, l := range b.lines {
		s.Gauges = append(s.Gauges, l.snapshot())
	}
	return s
}

// setup returns what lies on the bench on a gauge, with what the ledger knows where nothing
// was told, as it counts for suction.
func (l *line) setup() Setup {
	m := l.bench.terms(l, l.source.Gauge.Stats().Identity.Serial).of(hold.Suction)
	return m.setup()
}

// setup is what is held, with what it is measured against.
func (m *measured) setup() Setup {
	s := m.settings.Setup
	s.Ambient, s.VolumeM3 = m.fit.Ambient.Value, m.fit.Volume.Value
	gas := quantity.FromCelsius(20)
	if m.fit.Temperature.Told() {
		gas = quantity.Temperature(m.fit.Temperature.Value)
	}
	limit := m.limit.At(gas)
	s.Limit, s.LimitSCCM, s.Standard = float64(limit), limit.SCCM(gas), m.limit.Standard()
	return s
}

func (l *line) snapshot() GaugeState {
	stats, setup := l.source.Gauge.Stats(), l.setup()
	l.bench.mu.Lock()
	t := l.laid.trial // never changed once it is there, so it may be shared
	l.bench.mu.Unlock()
	l.stateMu.Lock()
	defer l.stateMu.Unlock()
	g := GaugeState{
		Name:       l.source.Name,
		Address:    l.source.Gauge.Address().String(),
		Serial:     stats.Identity.Serial,
		StateData:  l.state,
		Setup:      setup,
		Estimate:   l.estimate,
		Trial:      t,
		Pressure:   l.pressure,
		Readings:   stats.Readings,
		Lost:       stats.Lost,
		Damaged:    stats.Damaged,
		Reconnects: stats.Reconnects,
		Port:       stats.Port,
	}
	if stats.Clock.Known {
		g.Drift = &trial.Value{Value: stats.Clock.DriftPPM, U: stats.Clock.UPPM}
	}
	g.Up, g.Problem = stats.Up, stats.Trouble
	return g
}

// ledgerState says how the recording goes. What the recorder says now is newer than
// a fault that was noted before.
func (b *Bench) ledgerState(problem string) LedgerState {
	state := b.recorder.State()
	if state.Err != nil {
		problem = state.Err.Error()
	}
	l := LedgerState{Path: b.ledgerPath, Lag: state.Lag.Seconds(), Problem: problem}
	if b.records != nil {
		l.Records = b.records()
	}
	if b.copies != nil {
		l.Copies = new(b.copies())
	}
	return l
}
