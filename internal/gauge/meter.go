package gauge

import (
	"sync"
	"time"

	"boretight/internal/gauge/frames"
)

// silentAfter is how long a gauge may say nothing before that is called silence.
// Ours identify themselves every 5 s, but readings come many times a second.
const silentAfter = 3 * time.Second

// meter keeps a gauge's Stats. Run writes to it once a read, anyone may look.
type meter struct {
	mu       sync.Mutex
	stats    Stats         // counters of the present Run excluded
	run      frames.Counts // counters of the present Run
	opened   bool          // a device was opened at some time
	open     bool          // a device is open now
	lastByte time.Time
	lastT    time.Duration // T of the last reading
	lastAt   time.Time     // when it came; zero before the first
	notice   string        // something to be told for a while, though nothing is wrong
	noticeAt time.Time
	clock    clockWatch
}

// noticeFor is how long a notice stands: long enough to be read by somebody who is
// busy with a plug.
const noticeFor = 10 * time.Second

// openedAt notes which port is open, and what there is to tell of that.
func (m *meter) openedAt(port, notice string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.stats.Port = port
	m.notice, m.noticeAt = notice, time.Now()
}

func (m *meter) opening() {
	m.mu.Lock()
	defer m.mu.Unlock()
	// A gauge that is lost stays lost, with its trouble, until the device is back:
	// attempts in vain every two seconds are no news.
	if m.stats.Phase != PhaseLost && m.stats.Phase != PhaseUndecodable {
		m.stats.Phase = PhaseOpening
	}
}

// isOpen notes that the device is open and returns the T of a first reading that comes
// at once.
func (m *meter) isOpen() time.Duration {
	m.mu.Lock()
	defer m.mu.Unlock()
	now := time.Now()
	if m.opened {
		m.stats.Reconnects++
	}
	m.opened, m.open, m.lastByte = true, true, now
	m.clock.restart()
	m.stats.Phase, m.stats.Trouble = PhaseWaiting, ""
	return m.goesOn(now)
}

// resume returns the T of a first reading that comes now.
func (m *meter) resume() time.Duration {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.goesOn(time.Now())
}

// goesOn is later than the last T even where the host's clock is too coarse to show it.
func (m *meter) goesOn(now time.Time) time.Duration {
	if m.lastAt.IsZero() {
		return 0
	}
	return m.lastT + max(now.Sub(m.lastAt), time.Microsecond)
}

// restarted notes that the gauge's clock does not go on from where it was.
func (m *meter) restarted() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.clock.restart()
}

// heard notes the counters after a read, which brought so many bytes.
func (m *meter) heard(bytes int, counts frames.Counts, id Identity, lastT time.Duration) {
	m.mu.Lock()
	defer m.mu.Unlock()
	now := time.Now()
	if bytes > 0 {
		m.lastByte = now
	}
	m.stats.Identity = id
	if counts.Readings > m.run.Readings {
		m.lastT, m.lastAt = lastT, now
		m.stats.Phase, m.stats.Trouble = PhaseReading, ""
		m.clock.heard(lastT, now, counts.Readings-m.run.Readings)
	}
	m.run = counts
}

// silentFor returns the time since the last byte and the last reading.
func (m *meter) silentFor() (bytes, readings time.Duration) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return time.Since(m.lastByte), time.Since(m.lastAt)
}

// trouble notes what is wrong while the device stays open.
func (m *meter) trouble(p Phase, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.stats.Phase, m.stats.Trouble = p, err.Error()
}

// closed notes the end of a Run and why it ended.
func (m *meter) closed(p Phase, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.stats.Readings += m.run.Readings
	m.stats.Lost += m.run.Lost
	m.stats.Damaged += m.run.Damaged
	m.run, m.open = frames.Counts{}, false
	m.stats.Phase, m.stats.Trouble = p, ""
	if err != nil {
		m.stats.Trouble = err.Error()
	}
}

// Stats returns the present state.
func (m *meter) Stats() Stats {
	m.mu.Lock()
	defer m.mu.Unlock()
	s := m.stats
	s.Readings += m.run.Readings
	s.Lost += m.run.Lost
	s.Damaged += m.run.Damaged
	if s.Phase == "" {
		s.Phase = PhaseClosed
	}
	if m.open {
		s.Silent = time.Since(m.lastByte)
		if s.Silent >= silentAfter {
			s.Phase = PhaseSilent
			if s.Trouble == "" {
				s.Trouble = silenceHint
			}
		}
	}
	s.Up = s.Phase == PhaseReading
	s.Clock = m.clock.clock()
	if s.Trouble == "" && m.open {
		s.Trouble = s.Clock.Trouble()
		if m.notice != "" && time.Since(m.noticeAt) < noticeFor {
			s.Trouble = m.notice
		}
	}
	return s
}

const silenceHint = "nothing comes from the gauge: check its power, its cable and the baud rate"
