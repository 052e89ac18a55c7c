package bench

import (
	"slices"
	"time"

	"boretight/internal/trace"
)

// prerollSpan is how far back readings are kept: the ten seconds before a draw
// that belong to its hold, and a draw that was noticed late.
const prerollSpan = 20 * time.Second

// preroll keeps the latest readings of a stream, because a draw is noticed only
// after it has begun.
type preroll struct{ readings []trace.Reading }

// push adds a reading and lets go of those that are too old.
func (p *preroll) push(r trace.Reading) {
	p.readings = append(p.readings, r)
	// Shifting at every reading would move the whole store at every reading: let it
	// grow by an eighth first.
	if first := p.readings[0].T; r.T-first > prerollSpan*9/8 {
		p.readings = slices.Delete(p.readings, 0, p.index(r.T-prerollSpan))
	}
}

// since returns a copy of the readings from time from on.
func (p *preroll) since(from time.Duration) []trace.Reading {
	return slices.Clone(p.readings[p.index(from):])
}

// reset forgets everything: what comes next does not follow what was.
func (p *preroll) reset() { p.readings = p.readings[:0] }

func (p *preroll) index(from time.Duration) int {
	i, _ := slices.BinarySearchFunc(p.readings, from, func(r trace.Reading, t time.Duration) int {
		if r.T < t {
			return -1
		}
		return 1
	})
	return i
}
