package hold

import (
	"math"
	"slices"
	"sort"
	"time"

	"boretight/internal/trace"
)

// readingAt returns the reading with the given index in the stream.
func (f *Finder) readingAt(i int) trace.Reading {
	return f.buf[min(max(i-f.off, 0), len(f.buf)-1)]
}

// readingsFrom returns the readings from the given index in the stream on.
func (f *Finder) readingsFrom(i int) []trace.Reading {
	return slices.Clip(f.buf[min(max(i-f.off, 0), len(f.buf)):])
}

// oldest returns the stream index of the first reading kept at or after time t in seconds.
func (f *Finder) oldest(t float64) int {
	want := seconds(t)
	return f.off + sort.Search(len(f.buf), func(i int) bool { return f.buf[i].T >= want })
}

// heldFrom returns the stream index of the first reading after isolation.
func (f *Finder) heldFrom() int { return f.oldest(f.isolation) }

// trim lets go of readings that no later hold can want.
func (f *Finder) trim() {
	if f.phase != Rest || len(f.buf) == 0 {
		return
	}
	newest := f.buf[len(f.buf)-1].Seconds()
	if newest-f.buf[0].Seconds() < 2*(keepBefore+1) {
		return
	}
	keep := f.oldest(newest - keepBefore - 1)
	f.buf = slices.Clone(f.buf[keep-f.off:]) // the rest of the array is let go
	f.off = keep
	n := min(sort.Search(len(f.blocks), func(i int) bool { return f.blocks[i].from >= keep }), len(f.blocks)-1)
	f.blocks = append([]block(nil), f.blocks[n:]...)
}

// build makes the hold whose held stretch is [from, to) in stream indices; from is
// negative when the joint was never isolated.
func (f *Finder) build(from, to int, e Ending) *Hold {
	first := f.oldest(f.blocks[f.draw].t - keepBefore)
	before := Span{max(first, f.since), f.restEnd()}
	if f.earlier.Len() > 0 {
		first = max(f.earlier.From, f.off)
		before = Span{max(first, f.earlier.From), f.earlier.To}
	}
	end := f.off + len(f.buf)
	h := &Hold{
		Kind: f.kind, Sign: f.sign, Ending: e, RestLevel: f.level,
		Readings: f.buf[first-f.off : end-f.off : end-f.off],
		Before:   Span{max(0, min(before.From, before.To)-first), max(0, before.To-first)},
		Draw:     max(0, f.blocks[f.draw].from-first),
	}
	if from >= 0 && to > from {
		h.Held = Span{from - first, to - first}
	}
	if f.vent >= 0 {
		h.After = f.after(first)
	}
	// A hold in progress is looked at again and again, and its rest stays as it was.
	rest := Span{first + h.Before.From, first + h.Before.To}
	if rest == f.resting {
		h.Noise = f.restingNoise
	}
	h.measure(f.isolation)
	f.resting, f.restingNoise = rest, h.Noise
	return h
}

// measure fills in what follows from where the parts lie, the noise only if it is not there.
func (h *Hold) measure(isolation float64) {
	h.Interval = interval(h.Readings[max(0, len(h.Readings)-4000):])
	h.Isolation = math.NaN()
	if h.Isolated() {
		h.Isolation = isolation
		h.count()
	}
	if h.Noise == 0 {
		h.Noise = h.restNoise()
	}
}

// restEnd returns the stream index of the end of the quiet rest before the draw:
// a block and a half before the move was seen, because it began before it was seen.
func (f *Finder) restEnd() int {
	k := max(f.draw-2, 0)
	return f.blocks[k].to
}

// after returns the quiet stretch after the vent, as indices into a hold that
// begins at first: from where on no block lies off the median of the last half,
// which leaves out the tail of the vent itself.
func (f *Finder) after(first int) Span {
	k := len(f.blocks)
	var last []float64
	for i := (f.vent + k) / 2; i < k; i++ {
		last = append(last, f.blocks[i].p)
	}
	level, near := median(last), max(4*f.sigma(), 1)
	for k > f.vent && abs(f.blocks[k-1].p-level) <= near {
		k--
	}
	// One more block: the last of the fall.
	if k++; k >= len(f.blocks) {
		return Span{}
	}
	return Span{f.blocks[k].from - first, f.off + len(f.buf) - first}
}

// count fills in what is missing from the held stretch and what the gauge itself disowned.
func (h *Hold) count() {
	h.Lost = h.LostIn(h.Held)
	for _, r := range h.Readings[h.Held.From:h.Held.To] {
		if !usable(r) {
			h.Unusable++
			if r.Status&trace.Saturated != 0 {
				h.Saturated++
			}
		}
	}
	for _, r := range h.Readings[min(h.Draw, h.Held.From):h.Held.From] {
		if r.Status&trace.Saturated != 0 {
			h.Clipped++
		}
	}
}

// LostIn returns how many readings are missing within a span, from gaps in time.
// Readings that come in bursts leave gaps too; so no more are called lost than the
// span is short of.
func (h *Hold) LostIn(s Span) int {
	if h.Interval <= 0 || s.Len() < 2 {
		return 0
	}
	gaps := 0
	for i := s.From + 1; i < s.To; i++ {
		if n := int((h.Readings[i].T-h.Readings[i-1].T).Seconds()/h.Interval + 0.5); n > 1 {
			gaps += n - 1
		}
	}
	span := (h.Readings[s.To-1].T - h.Readings[s.From].T).Seconds()
	return min(gaps, max(0, int(span/h.Interval+0.5)+1-s.Len()))
}

// UsableIn returns how many readings of a span may be used.
func (h *Hold) UsableIn(s Span) (n int) {
	for _, r := range h.Readings[s.From:s.To] {
		if usable(r) {
			n++
		}
	}
	return n
}

// restNoise is the spread of single readings at rest in Pa; a sensor that sits
// still on one of its steps is given a tenth of a Pa, so that nothing divides by 0.
func (h *Hold) restNoise() float64 {
	v := make([]float64, 0, h.Before.Len())
	for _, r := range h.Readings[h.Before.From:h.Before.To] {
		if usable(r) {
			v = append(v, r.Pressure)
		}
	}
	return max(spread(v), 0.1)
}

// endTime is the time of the last held reading, or of the last reading at all.
func (h *Hold) endTime() time.Duration {
	switch {
	case h.Isolated():
		return h.Readings[h.Held.To-1].T
	case len(h.Readings) > 0:
		return h.Readings[len(h.Readings)-1].T
	}
	return 0
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}
