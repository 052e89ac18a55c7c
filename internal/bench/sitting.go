package bench

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// Trials keeps trials and remembers those before. Its methods may wait for a disk until
// their context ends: the judge of a gauge calls them, which waits for the disk anyway.
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
)

// sitting is a trial in the making. The judge of its gauge alone knows it.
type sitting struct {
	id       string
	series   uint64
	members  []trial.Member
	last     time.Time
	plugging int
	// known is what earlier trials had told of the rig when the last hold came.
	known trial.Repeatability
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
func (l *line) sit(ctx context.Context, e ended, m *measured, o trial.Outcome, limit trial.Limit) (*sitting, trial.Trial, error) {
	l.sittings = slices.DeleteFunc(l.sittings, func(s *sitting) bool {
		return s.series != e.terms.series || len(s.members) >= l.bench.trialHolds || e.at.Sub(s.last) > longestBreak
	})
	s := l.sittingOf(m.member(o))
	s.series = e.terms.series
	t, err := l.pooled(ctx, s, e, m, o, limit)
	if err != nil {
		return nil, trial.Trial{}, err
	}
	if !slices.Contains(l.sittings, s) {
		l.sittings = append(l.sittings, s)
		l.sittings = l.sittings[max(0, len(l.sittings)-mostSittings):]
	}
	return s, t, nil
}

// sittingOf returns the sitting whose holds a hold is like, or a new one that says why the
// hold is not in one that was there. The disk has no say in that.
func (l *line) sittingOf(member trial.Member) *sitting {
	var unlike error
	words := ""
	for _, s := range slices.Backward(l.sittings) {
		err := trial.Alike(s.members[0], member)
		if err == nil {
			return s
		}
		if unlike = cmp.Or(unlike, err); words == "" {
			words = unlikeRig(s.members[0], member)
		}
	}
	s := &sitting{id: ledger.NewID()}
	switch {
	case words != "":
		s.note = "A trial of its own begins with this hold: " + words + "."
	case unlike != nil:
		s.note = "A trial of its own begins with this hold: " + unlike.Error() + "."
	}
	return s
}

// pooled adds a hold to a sitting whose holds it is like, and returns the trial.
func (l *line) pooled(ctx context.Context, s *sitting, e ended, m *measured, o trial.Outcome, limit trial.Limit) (trial.Trial, error) {
	member := m.member(o)
	member.Plugging = max(s.plugging, 1)
	if m.settings.Replugged {
		member.Plugging = s.plugging + 1
	}
	next := *s
	next.members = append(l.bench.standingOf(ctx, s.members), member)
	next.last, next.plugging, next.known = e.at, member.Plugging, trial.Repeatability{}
	terms := trial.Terms{Limit: limit, CheckRig: m.checkRig}
	first, err := trial.Pool(next.members, terms)
	if err != nil {
		return trial.Trial{}, err
	}
	t := first
	if next.known = l.bench.repeatability(ctx, m.trial(&next, first)); next.known != (trial.Repeatability{}) {
		terms.Known = next.known
		if t, err = trial.Pool(next.members, terms); err != nil {
			return trial.Trial{}, err
		}
	}
	t.ID = s.id
	if t.Decision != nil {
		t.Decision.From = m.from
	}
	t.Notes = append(t.Notes, m.trialNotes(s)...)
	*s = next
	return t, nil
}

// trialNotes are those of a trial that are not about its holds.
func (m *measured) trialNotes(s *sitting) []string {
	notes := slices.Clone(m.rigNotes)
	if s.note != "" {
		notes = append(notes, s.note)
	}
	return notes
}

// trial returns the record of a trial.
func (m *measured) trial(s *sitting, result trial.Trial) ledger.Trial {
	setup := m.settings.Setup
	terms := ledger.TrialTerms{Known: s.known, Notes: m.trialNotes(s)}
	t := ledger.Trial{
		ID: s.id, Bench: setup.Bench, Instrument: setup.Instrument, Joint: setup.Joint, Section: setup.Section, Closure: setup.Closure,
		When: setup.When, Ticket: setup.Ticket, Of: setup.Name(), Rig: m.rig, Unnamed: m.unnamed, Result: result, Terms: &terms,
	}
	for _, member := range s.members {
		t.Holds = append(t.Holds, member.Outcome.ID)
		terms.Plugging = append(terms.Plugging, member.Plugging)
		dof := member.Outcome.Dof
		if math.IsInf(dof, 0) || math.IsNaN(dof) {
			dof = 0 // so many that they do not matter
		}
		terms.Dof = append(terms.Dof, dof)
	}
	return t
}

// standingOf returns the members that nobody has set aside since.
func (b *Bench) standingOf(ctx context.Context, members []trial.Member) []trial.Member {
	members = slices.Clone(members)
	if b.trials == nil || len(members) == 0 {
		return members
	}
	ids := make([]string, len(members))
	for i, m := range members {
		ids[i] = m.Outcome.ID
	}
	voided, err := b.trials.Voided(ctx, ids)
	if err != nil {
		b.logger.Warn("cannot see which holds were set aside", "error", err)
	}
	return slices.DeleteFunc(members, func(m trial.Member) bool { return slices.Contains(voided, m.Outcome.ID) })
}

func (b *Bench) repeatability(ctx context.Context, t ledger.Trial) trial.Repeatability {
	if b.trials == nil {
		return trial.Repeatability{}
	}
	known, err := b.trials.Known(ctx, t)
	if err != nil {
		b.logger.Warn("cannot see how earlier trials repeated", "error", err)
	}
	return known
}

// keepTrial records what a trial is now.
func (l *line) keepTrial(ctx context.Context, m *measured, s *sitting, t trial.Trial) {
	if l.bench.trials == nil {
		return
	}
	l.recorderFails(l.bench.trials.Keep(ctx, m.trial(s, t)))
}
