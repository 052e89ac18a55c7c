package bench

import (
	"context"
	"fmt"
	"slices"

	"boretight/internal/trial"
)

// laid is what lies on the bench on one gauge. [Bench] guards it with its mutex.
type laid struct {
	settings Settings
	// series counts changes of settings: holds of one series make a trial.
	series uint64
	// trial is the one to which a hold of this series was added last.
	trial *trial.Trial
}

// Settings returns what holds of a gauge are measured against now.
func (b *Bench) Settings(gauge string) (Settings, error) {
	l, err := b.line(gauge)
	if err != nil {
		return Settings{}, err
	}
	s, _ := b.present(l)
	return s, nil
}

// Change sets what the next holds of a gauge are measured against, and starts a new trial.
// A hold in progress is judged by the settings at its beginning, which its record says.
func (b *Bench) Change(gauge string, s Settings) error {
	l, err := b.line(gauge)
	if err != nil {
		return err
	}
	b.mu.Lock()
	l.laid = laid{settings: s, series: l.laid.series + 1}
	series := l.laid.series
	b.mu.Unlock()
	l.setState(func(s *StateData) { s.Series = max(s.Series, series) }) // of two changes at once the later may be here first
	return nil
}

// present returns the settings of a line and the number of their series.
func (b *Bench) present(l *line) (Settings, uint64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return l.laid.settings, l.laid.series
}

// SetAside has a hold set aside: void does it in the ledger and returns what the trials are
// without the hold. Nothing that is shown rests on it from then on, and later holds leave it
// out by themselves, see [Trials]. The error is void's, or the context's.
//
// No hold of this bench is added to a trial meanwhile: else the trial that void judges again
// could be kept without a hold that ended just then, or once more with the one set aside.
func (b *Bench) SetAside(ctx context.Context, hold, reason string, void func() ([]trial.Trial, error)) error {
	for _, l := range b.lines {
		select {
		case l.adding <- struct{}{}:
			defer func() { <-l.adding }()
		case <-ctx.Done():
			return fmt.Errorf("set hold %s aside: wait for the trial of another: %w", hold, context.Cause(ctx))
		}
	}
	trials, err := void()
	if err != nil {
		return err
	}
	b.showAside(hold, reason, trials)
	return nil
}

// showAside marks a hold as set aside where it is shown, and shows its trials as they are now.
func (b *Bench) showAside(hold, reason string, trials []trial.Trial) {
	b.mu.Lock()
	i := slices.IndexFunc(b.holds, func(h HoldData) bool { return h.ID == hold })
	var data HoldData
	if i >= 0 {
		b.holds = slices.Clone(b.holds) // a snapshot may have the old one
		b.holds[i].Voided = reason
		data = b.holds[i]
	}
	var changed []TrialData
	for _, l := range b.lines {
		for _, t := range trials {
			if l.laid.trial == nil || l.laid.trial.ID != t.ID {
				continue
			}
			l.laid.trial = &t
			changed = append(changed, TrialData{Gauge: l.source.Name, Trial: t})
		}
	}
	b.mu.Unlock()
	if i >= 0 {
		b.hub.Publish(EventHold, data)
	}
	for _, t := range changed {
		b.hub.Publish(EventTrial, t)
	}
}
