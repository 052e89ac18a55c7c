package frames

import (
	"time"

	"boretight/internal/trace"
)

const (
	// maxJump is the largest gap in the numbers that is taken as lost readings: 17
	// minutes at 1 kHz. Beyond it the gauge must have begun anew.
	maxJump = 1 << 20
	// maxStep is the longest time a reading that follows may take. Slower gauges do
	// not exist here, and a longer pause ends whatever was measured before it.
	maxStep = 10 * time.Second
	// leastStep parts stretches between which no time is known to have passed.
	leastStep = time.Microsecond
)

// sample is a reading with the gauge's own number and clock; its T is not yet known.
type sample struct {
	trace.Reading
	seq, micros uint32
}

// sequence puts samples into the order of their numbers and their clock.
type sequence struct {
	last    sample // the last one delivered
	begun   bool   // last is valid
	any     bool   // one was delivered at some time
	suspect sample // the last one received, if it does not follow from last
	doubt   bool   // suspect is valid
}

// Clock returns the gauge's own clock at the last reading delivered, in
// microseconds modulo 2³²; not ok before the first.
func (d *Decoder) Clock() (micros uint32, ok bool) { return d.order.last.micros, d.order.begun }

// take delivers s, or keeps it until the next one says whether to believe it.
func (q *sequence) take(s sample, counts *Counts, h Handler) {
	switch {
	case !q.begun:
		// T goes on where an earlier stretch ended and is 0 at the very start.
		s.T = q.last.T
		if q.any {
			s.T += leastStep
		}
		q.begun, q.doubt = true, false
		q.deliver(s, counts, h)
	case s.follows(q.last):
		if q.doubt {
			// The stream goes on as if the suspect had never been.
			counts.Damaged++
			q.doubt = false
		}
		counts.Lost += uint64(s.seq - q.last.seq - 1)
		s.T = q.last.T + s.since(q.last)
		q.deliver(s, counts, h)
	case q.doubt && s.follows(q.suspect):
		q.restart(s, counts, h)
	case s.seq == q.last.seq, q.doubt && s.seq == q.suspect.seq:
		counts.Damaged++ // repeated
	case s.stands(q.last), q.doubt && s.stands(q.suspect):
		counts.Damaged++
		counts.Standing++
	default:
		if q.doubt {
			counts.Damaged++
		}
		q.suspect, q.doubt = s, true
	}
}

// restart delivers two readings that follow from each other but not from the last.
func (q *sequence) restart(s sample, counts *Counts, h Handler) {
	first := q.suspect
	q.doubt = false
	h.Break(ErrRestarted)
	// A clock that began anew says how long ago that was, so at least that much
	// time has passed; a clock that jumped elsewhere says nothing.
	first.T = q.last.T + min(max(time.Duration(first.micros)*time.Microsecond, leastStep), maxStep)
	q.deliver(first, counts, h)
	counts.Lost += uint64(s.seq - first.seq - 1)
	s.T = first.T + s.since(first)
	q.deliver(s, counts, h)
}

func (q *sequence) deliver(s sample, counts *Counts, h Handler) {
	q.last, q.any = s, true
	counts.Readings++
	counts.Standing = 0
	h.Reading(s.Reading)
}

// follows reports whether s can be a later reading of the same run as before.
// Both differences are taken modulo 2³², which is what unwraps them.
func (s *sample) follows(before sample) bool {
	steps := s.seq - before.seq
	return steps >= 1 && steps <= maxJump && s.since(before) > 0 && s.since(before) <= min(time.Duration(steps)*maxStep, maxClock)
}

// stands reports whether s would follow but for its clock, which has not moved.
func (s *sample) stands(before sample) bool {
	steps := s.seq - before.seq
	return steps >= 1 && steps <= maxJump && s.since(before) == 0
}

// maxClock is half the span of the gauge's clock: a difference beyond it is a step back.
const maxClock = (1 << 31) * time.Microsecond

// since returns the time between two samples on the gauge's clock, modulo its span.
func (s *sample) since(before sample) time.Duration {
	return time.Duration(s.micros-before.micros) * time.Microsecond
}
