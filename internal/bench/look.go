package bench

import (
	"time"

	"boretight/internal/hold"
	"boretight/internal/trial"
)

// look is a hold in progress on its way to the looker.
type look struct {
	hold     *hold.Hold
	settings Settings
	turn     uint64
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
	l.looks <- look{hold: partial, settings: l.bench.Settings(), turn: turn} // there is room: the looker is free
}

// look makes running estimates until the queue closes.
func (l *line) look() {
	for k := range l.looks {
		l.estimateOf(k)
		l.looking.Store(false)
	}
}

func (l *line) estimateOf(k look) {
	outcome, limit := k.settings.judge(k.hold)
	outcome.Schema, outcome.Gauge = trial.SchemaHold, l.source.Name
	held := k.hold.Duration()
	data := EstimateData{
		Gauge:   l.source.Name,
		Held:    held.Seconds(),
		Outcome: outcome,
		Curve:   outcome.Curve,
		Wedge:   wedge(k.hold, k.settings.Fit, limit, max(wedgeSpan, held.Seconds()+wedgeAhead)),
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
