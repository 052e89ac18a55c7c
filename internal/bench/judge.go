package bench

import (
	"context"
	"errors"
	"slices"
	"time"

	"boretight/internal/hold"
	"boretight/internal/trial"
)

// tracePoints is how many points of a hold's trace the page gets.
const tracePoints = 600

// ended is a complete hold on its way to the judge.
type ended struct {
	id      string
	hold    *hold.Hold
	terms   terms
	at      time.Time
	handed  time.Time // when the judge was given it, for how long it may wait for a disk
	unnamed bool      // the gauge had not said who it is
	told    bool      // the gauge's address says what it cannot
	cut     string    // why the readings ended in mid-hold, empty if they did not
	clock   string    // what was wrong with the gauge's clock, empty if nothing was
}

// judge judges ended holds one by one until the queue closes, has each recorded,
// and publishes it then.
func (l *line) judge(keeping context.Context) {
	for e := range l.ended {
		l.judgeOne(keeping, e)
	}
}

func (l *line) judgeOne(keeping context.Context, e ended) {
	m := e.terms.of(e.hold.Sign)
	outcome, limit := l.judgeHold(e, &m)
	data := HoldData{
		Outcome: outcome,
		On:      m.setup(),
		Ended:   e.at,
		Curve:   outcome.Curve,
		Trace:   thin(samplesOf(e.hold), tracePoints),
	}
	ctx, cancel := context.WithTimeout(keeping, e.patience())
	defer cancel()
	l.adding <- struct{}{}
	defer func() { <-l.adding }()
	if err := l.commit(ctx, e.id, outcome); err != nil {
		l.recorderFails(err)
		data.Unrecorded = err.Error()
	} else {
		l.bench.recorderWorks()
		l.bench.follower.Held(l.source.Name, e.id, e.hold)
	}
	l.publish(ctx, e, &m, data, limit)
}

// commit ends a hold in the ledger and waits until it is on the disk.
func (l *line) commit(ctx context.Context, id string, outcome trial.Outcome) error {
	receipt, err := l.bench.recorder.EndHold(id, outcome)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeoutCause(ctx, commitPatience, errNotCommitted)
	defer cancel()
	switch err := receipt.Wait(ctx); {
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return errNotCommitted
	default:
		return err
	}
}

func (l *line) judgeHold(e ended, m *measured) (trial.Outcome, trial.Limit) {
	l.bench.fitting.Lock()
	began := l.bench.now()
	outcome, limit := m.judge(e.hold)
	l.bench.fitting.Unlock()
	for _, o := range l.bench.observers {
		if !e.hold.Isolated() {
			break // nothing was held, and nothing fitted
		}
		o.FitTook(l.bench.now().Sub(began))
		o.HoldEnded(e.hold.Duration())
	}
	outcome.Schema = trial.SchemaHold
	outcome.ID, outcome.Gauge = e.id, l.source.Name
	switch {
	case e.told:
		outcome.Notes = append(outcome.Notes, "The gauge has no clock: its readings were timed by their arrival, evened out. Unit, sign and kind of its pressures are as its address says.")
	case e.unnamed:
		outcome.Notes = append(outcome.Notes, "The gauge had not said who it is: its readings were taken as gauge pressure.")
	}
	// What went wrong comes before what was assumed.
	if e.clock != "" {
		outcome.Press("About time: " + e.clock + ".")
	}
	// The readings may end in the rest after the vent as well, with all of the hold measured.
	if e.cut != "" && e.hold.Ending == hold.Cut {
		outcome.Press("The hold was cut short: " + e.cut + ".")
	}
	return outcome, limit
}

// publish counts a hold, adds it to the trial and tells everybody.
func (l *line) publish(ctx context.Context, e ended, m *measured, data HoldData, limit trial.Limit) {
	b := l.bench
	b.mu.Lock()
	b.holds = slices.Insert(b.holds, 0, data)
	b.holds = b.holds[:min(len(b.holds), keptHolds)]
	b.verdicts[verdictLabel(data.Verdict)]++
	b.mu.Unlock()
	b.hub.Publish(EventHold, data)
	b.logger.Info("hold ended", "gauge", data.Gauge, "id", data.ID,
		"verdict", verdictLabel(data.Verdict), "recorded", data.Unrecorded == "")
	// A joint that was never shut off is no measurement.
	if e.hold.Isolated() {
		l.addToTrial(ctx, e, m, data, limit)
	}
}

// addToTrial combines a hold with those before it in its sitting, and has the trial kept.
// Holds of different gauges are of different joints and are never combined; the bench
// shows the trial to which a hold was added last. A hold that is not in the ledger
// belongs to no trial there.
func (l *line) addToTrial(ctx context.Context, e ended, m *measured, data HoldData, limit trial.Limit) {
	s, t, err := l.sit(ctx, e, m, data.Outcome, limit)
	if err != nil {
		l.bench.logger.Error("hold belongs to no trial", "gauge", l.source.Name, "id", data.ID, "error", err)
		return
	}
	if data.Unrecorded == "" {
		l.keepTrial(ctx, m, s, t)
	}
	b := l.bench
	b.mu.Lock()
	current := e.terms.series == l.laid.series
	if current {
		l.laid.trial = &t
	}
	b.mu.Unlock()
	if current {
		b.hub.Publish(EventTrial, TrialData{Gauge: l.source.Name, Trial: t})
	}
}

func verdictLabel(v trial.Verdict) string {
	if v == trial.None {
		return "none"
	}
	return string(v)
}

// samplesOf returns the readings of a hold against its level at rest.
func samplesOf(h *hold.Hold) []Sample {
	samples := make([]Sample, len(h.Readings))
	for i, r := range h.Readings {
		samples[i] = Sample{T: r.Seconds(), Pressure: r.Pressure - h.RestLevel}
	}
	return samples
}
