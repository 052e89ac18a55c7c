package bench

import (
	"time"

	"boretight/internal/trace"
)

// flushUntil flushes the line at every tick until stopped closes.
func (l *line) flushUntil(stopped <-chan struct{}) {
	tick := time.NewTicker(flushInterval)
	defer tick.Stop()
	for {
		select {
		case <-stopped:
			return
		case <-tick.C:
			l.flush()
			l.checkGauge()
		}
	}
}

// queue lets a reading wait for the next flush to the recorder.
func (l *line) queue(r trace.Reading) {
	l.pendingMu.Lock()
	defer l.pendingMu.Unlock()
	l.writing, l.writingID = append(l.writing, r), l.recorded
}

// flush sends what waits to the page and to the scribe. The scribe's queue is fed
// under the mutex, so that two flushes cannot change the order of readings.
func (l *line) flush() {
	l.pendingMu.Lock()
	defer l.pendingMu.Unlock()
	if len(l.drawn) > 0 {
		l.bench.hub.Publish(EventReading, ReadingData{Gauge: l.source.Name, Readings: thin(l.drawn, drawnPerFlush)})
		l.drawn = nil
	}
	if len(l.writing) > 0 {
		l.scribes <- entry{id: l.writingID, readings: l.writing}
		l.writing = nil
	}
}

// checkGauge publishes when the gauge has come, gone, or has another trouble.
func (l *line) checkGauge() {
	stats := l.source.Gauge.Stats()
	l.stateMu.Lock()
	changed := l.state.Up != stats.Up || l.state.Problem != stats.Trouble
	l.stateMu.Unlock()
	if changed {
		l.setState(func(s *StateData) { s.Up, s.Problem = stats.Up, stats.Trouble })
	}
}

// setState changes the state that pages see, and publishes it.
func (l *line) setState(change func(*StateData)) {
	l.stateMu.Lock()
	defer l.stateMu.Unlock()
	if change != nil {
		change(&l.state)
	}
	l.bench.hub.Publish(EventState, l.state)
}
