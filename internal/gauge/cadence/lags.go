package cadence

import (
	"math"
	"slices"
)

const (
	// lagsKept is how many reads say what is an ordinary delay.
	lagsKept = 64
	// lagsEnough is how many there must be before one beyond them means anything.
	lagsEnough = 8
	// lagsLate is how many reads in a row must be late to show a loss by themselves.
	lagsLate = 8
	// excess, in periods, and leastExcess in s are by how much a line must come later
	// than all others. In lumps longer than the period, delays reach up to a period,
	// but when lumps and lines beat, they may do so only once in seconds.
	excess      = 0.25
	leastExcess = 1e-3
	// tolerance, in periods, of the envelope's own error.
	tolerance = 0.15
)

// lags keeps the delays of the last reads against the grid, in s.
type lags struct {
	kept  [lagsKept]float64
	count int
}

func (l *lags) add(lag float64) {
	l.kept[l.count%lagsKept] = lag
	l.count++
}

// lateBy returns how many lines are lost before one that comes so late.
func (l *lags) lateBy(lag, period float64) int {
	if l.count >= lagsEnough {
		// Late beyond all others, and an ordinary delay if k lines are lost.
		longest := slices.Max(l.kept[:min(l.count, lagsKept)])
		k := math.Floor(lag/period + tolerance)
		if lag > longest+max(excess*period, leastExcess) && lag-k*period <= longest+leastExcess {
			return int(k)
		}
	}
	if l.count < lagsLate-1 {
		return 0
	}
	least := lag
	for i := range lagsLate - 1 {
		least = min(least, l.kept[(l.count-1-i)%lagsKept])
	}
	k := int(math.Floor(least/period + tolerance))
	if k > 0 {
		for i := range lagsLate - 1 {
			l.kept[(l.count-1-i)%lagsKept] -= float64(k) * period
		}
	}
	return k
}

// losses are lines taken for lost: for some reads they may be taken back.
type losses struct {
	stood   uint64
	pending int
	since   float64 // arrival at which the first of pending was declared, s
	left    int     // reads until pending stands
}

func (l *losses) declare(k int, at float64) {
	if l.pending == 0 {
		l.since = at
	}
	l.pending += k
	l.left = 2 * lagsEnough
}

// age counts one read.
func (l *losses) age() {
	if l.left--; l.left <= 0 {
		l.settle()
	}
}

func (l *losses) settle() {
	l.stood += uint64(l.pending)
	l.pending, l.left = 0, 0
}

// retract takes back k of the pending losses; ours is false when there are none.
func (l *losses) retract(k int) (since float64, ours bool) {
	ours = l.pending > 0
	l.pending = max(0, l.pending-k)
	return l.since, ours
}
