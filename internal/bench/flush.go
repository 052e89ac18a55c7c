package bench

import "time"

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

// flush sends what waits to pages. It publishes under the mutex, so that two
// flushes cannot change the order of readings.
func (l *line) flush() {
	l.drawnMu.Lock()
	defer l.drawnMu.Unlock()
	if len(l.drawn) == 0 {
		return
	}
	shown := thin(l.drawn, drawnPerFlush)
	l.recent.push(shown)
	l.bench.hub.Publish(EventReading, ReadingData{Gauge: l.source.Name, Readings: shown})
	if len(shown) < len(l.drawn) {
		l.drawn = l.drawn[:0] // what is shown is a copy
	} else {
		l.drawn = nil
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
