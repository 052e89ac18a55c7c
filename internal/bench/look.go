package bench

import (
	"time"

	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/trial"
)

// look is a hold in progress on its way to the looker.
type look struct {
	hold  *hold.Hold
	terms terms
	turn  uint64
}

// offerLook hands the hold in progress to the looker if it is free. If it is not,
// this look is dropped before the hold is even copied: a slow fit must not delay
// the readings.
func (l *line) offerLook(now time.Duration) {
	phase := l.finder.Phase()
	if (phase != hold.Holding && phase != hold.Settling) || l.looking.Load() {
		return
	}
	partial := l.finder.Partial()
	if partial == nil {
		return
	}
	l.nextLook = now + lookInterval
	l.stateMu.Lock()
	turn := l.turn
	l.stateMu.Unlock()
	l.looking.Store(true)
	l.looks <- look{hold: partial, terms: l.terms, turn: turn} // there is room: the looker is free
}

// look makes running estimates until the queue closes.
func (l *line) look() {
	var g glance
	for k := range l.looks {
		m := k.terms.of(k.hold.Sign)
		l.bench.fitting.Lock()
		outcome, limit, ok := g.at(k, &m)
		l.bench.fitting.Unlock()
		if ok {
			l.publishLook(k, &m, outcome, limit)
		}
		l.looking.Store(false)
	}
}

// glance is what the looker keeps from one look at a hold to the next.
type glance struct {
	turn     uint64
	fit      decay.Setup
	running  *decay.Running
	nextFull time.Duration // into the hold, when a whole fit may be tried again
	// early is the verdict that the last look allowed, said whether a person was told it.
	early trial.Verdict
	said  bool
}

// fullInterval is the least time in a hold between whole fits of it. Only a hold that
// follows no curve needs them, and they take long.
const fullInterval = 2 * time.Second

// at judges a hold under way. Where the running estimate has nothing to say, as after a
// knock, a whole fit finds out why; it reports false when there is nothing new to show.
func (g *glance) at(k look, m *measured) (trial.Outcome, trial.Limit, bool) {
	if g.running == nil || g.turn != k.turn || g.fit != m.fit {
		*g = glance{turn: k.turn, fit: m.fit, running: decay.NewRunning(m.fit)}
	}
	limit := LimitOf(m.limit, m.fit, k.hold)
	held := k.hold.Duration()
	r, ok := g.running.Look(k.hold)
	switch {
	case ok:
		r.Curve = g.running.Curve()
	case held < g.nextFull:
		return trial.Outcome{}, 0, false
	default:
		g.nextFull = held + fullInterval
		r = decay.Fit(k.hold, m.fit)
	}
	outcome := trial.JudgeLook(k.hold, r, limit)
	g.steady(&outcome)
	m.complete(&outcome)
	return outcome, limit, true
}

// steady keeps an early verdict from coming and going before the eyes of whoever is to open
// the valve at it. It is told when two looks in a row allow it, and then stays as long as a
// finished hold with this estimate would be given the same.
func (g *glance) steady(o *trial.Outcome) {
	if o.Decision == nil {
		return
	}
	now := o.Verdict
	switch {
	case g.said && now == trial.Inconclusive && o.LeakRate != nil && !o.Disturbed && trial.Stands(g.early, o.Decision.PConform):
		o.Verdict, o.Decision.Next, o.Decision.Wait = g.early, "", 0
		return
	case now == trial.Inconclusive:
		g.said = false
	case now == g.early:
		g.said = true
	default:
		g.said = false
		o.Verdict, o.Decision.Next = trial.Inconclusive, "a little more of the same hold"
	}
	g.early = now
}

func (l *line) publishLook(k look, m *measured, outcome trial.Outcome, limit trial.Limit) {
	outcome.Schema, outcome.Gauge = trial.SchemaHold, l.source.Name
	held := k.hold.Duration()
	data := EstimateData{
		Gauge:   l.source.Name,
		Held:    held.Seconds(),
		Outcome: outcome,
		Curve:   outcome.Curve,
		Wedge:   wedge(k.hold, m.fit, limit, max(wedgeSpan, held.Seconds()+wedgeAhead)),
	}
	l.stateMu.Lock()
	defer l.stateMu.Unlock()
	if k.turn != l.turn {
		return // the hold ended meanwhile; its own verdict follows
	}
	l.estimate = &data
	l.bench.hub.Publish(EventEstimate, data)
}

const (
	// wedgeSpan and wedgeAhead in seconds: a wedge covers a usual hold from its start,
	// and always reaches a little beyond the present.
	wedgeSpan  = 20
	wedgeAhead = 5
)

// forgetEstimate takes the running estimate off the page, and makes looks that are
// still under way come to nothing.
func (l *line) forgetEstimate() {
	l.stateMu.Lock()
	defer l.stateMu.Unlock()
	l.turn++
	l.estimate = nil
}
