package bench

import (
	"encoding/json"
	"errors"

	"boretight/internal/ledger"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

// Recorder keeps holds, so that none is ever lost. None of its methods may wait for
// a disk; [ledger.Writer] is one.
type Recorder interface {
	BeginHold(b ledger.Begin) error
	AppendReadings(id string, readings []trace.Reading) error
	EndHold(id string, o trial.Outcome) (*ledger.Receipt, error)
	State() ledger.State
}

var _ Recorder = (*ledger.Writer)(nil)

// record settles what a hold is measured against, opens it in the ledger with the readings so
// far, and returns its id.
func (l *line) record(before []trace.Reading) string {
	l.terms = l.bench.terms(l, l.identity.Serial)
	settings := l.terms.settings
	told, err := json.Marshal(l.terms.told())
	if err != nil { // a setup that is not finite
		l.recorderFails(err)
		told = nil
	}
	id := ledger.NewID()
	l.recorderFails(l.bench.recorder.BeginHold(ledger.Begin{
		ID:         id,
		Gauge:      l.source.Name,
		Kind:       l.kind,
		Bench:      settings.Setup.Bench,
		Instrument: settings.Setup.Instrument,
		Joint:      settings.Setup.Joint,
		Section:    settings.Setup.Section,
		Closure:    settings.Setup.Closure,
		When:       settings.Setup.When,
		Ticket:     settings.Setup.Ticket,
		Setup:      told,
		Started:    l.bench.now().UTC(),
	}))
	l.append(id, before)
	return id
}

// append adds readings to a hold in the ledger. The recorder itself marks a hold
// that lost some.
func (l *line) append(id string, readings []trace.Reading) {
	if len(readings) > 0 {
		l.recorderFails(l.bench.recorder.AppendReadings(id, readings))
	}
}

// recorderFails tells the page and the log of a fault, each once until it changes.
func (l *line) recorderFails(err error) {
	if err == nil {
		return
	}
	l.bench.mu.Lock()
	changed := l.bench.problem != err.Error()
	l.bench.problem = err.Error()
	l.bench.mu.Unlock()
	if changed {
		l.bench.logger.Error("hold is not recorded whole", "gauge", l.source.Name, "error", err)
	}
}

// recorderWorks takes a fault off the page once a hold was recorded whole.
func (b *Bench) recorderWorks() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.problem = ""
}

var errNotCommitted = errors.New("the disk did not answer in time")
