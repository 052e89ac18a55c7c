package bench

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// Trials keeps trials and remembers those before. Its methods may wait for a disk: the
// judge of a gauge calls them, which waits for the disk anyway.
type Trials interface {
	// Keep keeps what a trial is now. It is called again whenever the trial gained a hold.
	Keep(ctx context.Context, t ledger.Trial) error
	// Known returns what trials before this one saw of its rig's repeatability.
	Known(ctx context.Context, t ledger.Trial) (trial.Repeatability, error)
	// Voided returns which of the holds were set aside.
	Voided(ctx context.Context, holds []string) ([]string, error)
}

const (
	// mostHolds of one trial: more tell nothing new, and each is recorded with all before.
	mostHolds = 30
	// longestBreak between two holds of one trial. What lies longer apart is not one
	// measurement; common practice, no source.
	longestBreak = time.Hour
	// mostSittings of a gauge that may still gain a hold: two signs, and what changed.
	mostSittings = 4
	// trialPatience is how long a trial waits for the disk.
	trialPatience = 5 * time.Second
)

// sitting is a trial in the making. The judge of its gauge alone knows it.
type sitting struct {
	id       string
	series   uint64
	members  []trial.Member
	last     time.Time
	plugging int
	// note says why it is not one with the sitting before; mostly empty.
	note string
}

// member returns a hold as a member of a trial.
func (m *measured) member(o trial.Outcome) trial.Member {
	return trial.Member{
		Outcome: o, Joint: m.settings.Setup.whole(), Closure: m.settings.Setup.Closure,
		Rig: m.rigName(), Volume: m.fit.Volume.Value,
	}
}

// sit adds a hold to the sitting that it belongs to, or to a new one, and returns it with
// the trial so far. Holds that are not alike are never mixed: each kind has its own.
func (l *line) sit(e ended, m *measured, o trial.Outcome, limit trial.Limit) (*sitting, trial.Trial, error) {
	l.sittings = slices.DeleteFunc(l.sittings, func(s *sitting) bool {
		return s.series != e.terms.series || len(s.members) >= l.bench.trialHolds || e.at.Sub(s.last) > longestBreak
	})
	var unlike error
	for _, s := range slices.Backward(l.sittings) {
		t, err := l.pooled(s, e, m, o, limit)
		switch {
		case err == nil:
			return s, t, nil
		case !errors.Is(err, trial.ErrUnlike):
			return nil, trial.Trial{}, err
		}
		unlike = cmp.Or(unlike, err)
	}
	s := &sitting{id: ledger.NewID(), series: e.terms.series}
	if unlike != nil {
		s.note = "A trial of its own begins with this hold: " + unlike.Error() + "."
	}
	t, err := l.pooled(s, e, m, o, limit)
	if err != nil {
		return nil, trial.Trial{}, err
	}
	l.sittings = append(l.sittings, s)
	if n := len(l.sittings) - mostSittings; n > 0 {
		l.sittings = l.sittings[n:]
	}
	return s, t, nil
}

// pooled adds a hold to a sitting if it is like those in it, and returns the trial.
func (l *line) pooled(s *sitting, e ended, m *measured, o trial.Outcome, limit trial.Limit) (trial.Trial, error) {
	member := m.member(o)
	member.Plugging = max(s.plugging, 1)
	if m.settings.Replugged {
		member.Plugging = s.plugging + 1
	}
	members := append(l.bench.standingOf(s.members), member)
	kept := m.trial(s.id, members)
	terms := trial.Terms{Limit: limit, CheckRig: m.checkRig}
	first, err := trial.Pool(members, terms)
	if err != nil {
		return trial.Trial{}, err
	}
	kept.Result = first
	t := first
	if terms.Known = l.bench.repeatability(kept); terms.Known != (trial.Repeatability{}) {
		if t, err = trial.Pool(members, terms); err != nil {
			return trial.Trial{}, err
		}
	}
	t.ID = s.id
	if t.Decision != nil {
		t.Decision.From = m.from
	}
	t.Notes = append(t.Notes, m.rigNotes...)
	if s.note != "" {
		t.Notes = append(t.Notes, s.note)
	}
	s.members, s.last, s.plugging = members, e.at, member.Plugging
	return t, nil
}

// trial returns the record of a trial, but for its result.
func (m *measured) trial(id string, members []trial.Member) ledger.Trial {
	s := m.settings.Setup
	t := ledger.Trial{
		ID: id, Bench: s.Bench, Instrument: s.Instrument, Joint: s.Joint, Section: s.Section, Closure: s.Closure,
		When: s.When, Ticket: s.Ticket, Of: s.Name(), Rig: m.rig,
	}
	for _, member := range members {
		t.Holds = append(t.Holds, member.Outcome.ID)
	}
	return t
}

// standingOf returns the members that nobody has set aside since.
func (b *Bench) standingOf(members []trial.Member) []trial.Member {
	members = slices.Clone(members)
	if b.trials == nil || len(members) == 0 {
		return members
	}
	ids := make([]string, len(members))
	for i, m := range members {
		ids[i] = m.Outcome.ID
	}
	ctx, cancel := patiently()
	defer cancel()
	voided, err := b.trials.Voided(ctx, ids)
	if err != nil {
		b.logger.Warn("cannot see which holds were set aside", "error", err)
	}
	return slices.DeleteFunc(members, func(m trial.Member) bool { return slices.Contains(voided, m.Outcome.ID) })
}

func (b *Bench) repeatability(t ledger.Trial) trial.Repeatability {
	if b.trials == nil {
		return trial.Repeatability{}
	}
	ctx, cancel := patiently()
	defer cancel()
	known, err := b.trials.Known(ctx, t)
	if err != nil {
		b.logger.Warn("cannot see how earlier trials repeated", "error", err)
	}
	return known
}

// patiently returns a context for work on the ledger that is finished even though the
// run is being ended.
func patiently() (context.Context, context.CancelFunc) {
	return context.WithTimeout(context.Background(), trialPatience)
}

// keepTrial records what a trial is now.
func (l *line) keepTrial(m *measured, s *sitting, t trial.Trial) {
	if l.bench.trials == nil {
		return
	}
	kept := m.trial(s.id, s.members)
	kept.Result = t
	ctx, cancel := patiently()
	defer cancel()
	l.recorderFails(l.bench.trials.Keep(ctx, kept))
}
