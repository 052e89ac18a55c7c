package bench

import (
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
	l.setState(func(s *StateData) { s.Series = series })
	return nil
}

// present returns the settings of a line and the number of their series.
func (b *Bench) present(l *line) (Settings, uint64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return l.laid.settings, l.laid.series
}

// SetAside tells the bench that a hold was voided in the ledger, why, and what its trials
// are without it: what is shown must not rest on it any longer. Later holds leave it out
// by themselves, see [Trials].
func (b *Bench) SetAside(hold, reason string, trials ...trial.Trial) {
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
