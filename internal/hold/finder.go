package hold

import (
	"math"
	"time"

	"boretight/internal/trace"
)

// Times and levels at which the finder decides. They describe people and pumps,
// not sensors (common practice, no source), so they are the same for every gauge.
const (
	keepBefore  = 10.0 // s of readings kept before a draw
	keepAfter   = 1.8  // s after a vent until the hold ends: what is seen in blocks is seen late, and 2 s are the most
	restSeconds = 0.5  // s of quiet that make a rest
	restWindow  = 2.0  // s of rest from which level and noise are taken
	settled     = 1.2  // s of fall without a further stroke: the joint is isolated
	flatSeconds = 5.0  // s without stroke or fall: so it is when the joint is very tight
	paused      = 0.3  // s without progress: the draw has stopped for now
	lowSeconds  = 0.3  // s without a difference: the hold is over
	knock       = 10.0 // s after which a move that was no draw is forgotten
	stepSeconds = 1.2  // s after which a step that stays may be a new rest
	gapSeconds  = 3.0  // s without readings that no hold survives
	longest     = 600. // s: a joint that is left shut for longer was forgotten

	leastDraw    = 150.0  // Pa: a smaller move is a knock or a door, not a draw
	mostZero     = 400.0  // Pa: a gauge that rests further from 0 is not at rest
	leastAmbient = 45_000 // Pa: an absolute gauge below this is not at rest
	ventRate     = 12.0   // 1/s: what empties a joint faster than this is no leak
)

// Finder finds the holds in one stream of readings. Use [NewFinder]. A Finder is
// for one goroutine.
type Finder struct {
	kind trace.Kind

	// Readings since the oldest that may still be wanted; off is the index in the
	// stream of buf[0]. Readings are never changed once appended, so holds may share them.
	buf []trace.Reading
	off int

	blocker blocker
	blocks  []block // since the oldest reading kept; indices count in the stream

	phase  Phase
	events []Event

	// Rest.
	rested bool    // level and noise are known
	level  float64 // Pa
	noise  float64 // Pa, of a block's mean, from one to the next
	wander float64 // Pa, of a block's mean about the level
	grain  float64 // Pa, least difference seen between readings: the sensor's own steps, if coarse
	moved  int     // blocks since the level was last renewed
	since  int     // stream index at which this rest began

	resting      Span    // the rest of the hold that was built last, in stream indices
	restingNoise float64 // Pa, of that hold

	// From the first move on.
	sign      Sign
	begun     bool // the move is a draw: Begun has been said
	draw      int  // block in which the move was seen
	peak      float64
	top, low  float64 // largest and least Δ since the last progress
	progress  int     // block of the last progress
	flat      int     // last block still level with the top: a pump may be holding it there
	isolated  bool
	isolation float64 // s
	lowSince  int     // block since which the difference is gone; -1
	vent      int     // block in which the vent began; -1
	raised    int     // block since which a redraw is suspected; -1
	earlier   Span    // a rest before an earlier draw without vent, in stream indices
}

// NewFinder returns a finder for a stream of readings of the given kind.
func NewFinder(kind trace.Kind) *Finder {
	return &Finder{kind: kind, lowSince: -1, vent: -1, raised: -1}
}

// Find returns all holds of a recorded trace, by the same code as a live stream.
func Find(tr trace.Trace) []*Hold {
	f := NewFinder(tr.Kind)
	var out []*Hold
	take := func(events []Event) {
		for _, e := range events {
			if e.Kind == Ended {
				out = append(out, e.Hold)
			}
		}
	}
	for _, r := range tr.Readings {
		take(f.Push(r))
	}
	take(f.Close())
	return out
}

// Phase returns where the stream is now.
func (f *Finder) Phase() Phase { return f.phase }

// RestLevel returns the gauge's reading at rest in Pa, and whether it is known.
func (f *Finder) RestLevel() (pa float64, known bool) { return f.level, f.rested }

// Isolation returns the time of isolation while a joint is isolated.
func (f *Finder) Isolation() (seconds float64, ok bool) { return f.isolation, f.isolated }

// Push takes the next reading and returns what it showed; mostly nothing. The
// returned slice is valid until the next call. Readings must be in order of time.
func (f *Finder) Push(r trace.Reading) []Event {
	f.events = f.events[:0]
	if n := len(f.buf); n > 0 {
		if gap := (r.T - f.buf[n-1].T).Seconds(); gap > gapSeconds || gap < 0 {
			f.cut()
		}
	}
	f.watchGrain(r)
	i := f.off + len(f.buf)
	f.buf = append(f.buf, r)
	if b, ok := f.blocker.add(i, r); ok {
		f.step(b)
	}
	return f.events
}

// watchGrain learns the steps of a coarse sensor.
func (f *Finder) watchGrain(r trace.Reading) {
	n := len(f.buf)
	if n == 0 || !usable(r) || !usable(f.buf[n-1]) {
		return
	}
	if d := math.Abs(r.Pressure - f.buf[n-1].Pressure); d > 1e-6 && (f.grain == 0 || d < f.grain) {
		f.grain = d
	}
}

// sigma is the noise of a block's mean in Pa. Until the readings have moved, a rest
// on one step of a coarse sensor looks free of noise; a value that may lie anywhere
// within a step has the standard deviation step/√12.
func (f *Finder) sigma() float64 { return max(f.noise, f.grain/math.Sqrt(12)) }

// Close ends the stream: a hold in progress ends as [Cut], or as [Vented] when
// only its rest afterwards was awaited.
func (f *Finder) Close() []Event {
	f.events = f.events[:0]
	f.cut()
	return f.events
}

// Partial returns the hold in progress as if it were cut now, or nil when the
// joint is not isolated. It shares its readings with the finder.
func (f *Finder) Partial() *Hold {
	if !f.isolated || f.vent >= 0 || f.lowSince >= 0 {
		return nil
	}
	return f.build(f.heldFrom(), f.off+len(f.buf), Cut)
}

func (f *Finder) step(b block) {
	f.blocks = append(f.blocks, b)
	k := len(f.blocks) - 1
	switch {
	case f.phase == Rest:
		f.rest(k)
	case f.phase == Venting:
		f.venting(k)
	case f.isolated:
		f.holding(k)
	default:
		f.drawing(k)
	}
}

// delta returns Δp of a block in Pa.
func (f *Finder) delta(k int) float64 { return f.sign.Float() * (f.blocks[k].p - f.level) }

// threshold is the least move in Pa that is told from noise.
func (f *Finder) threshold() float64 { return max(6*f.sigma(), 6) }

// gone is the Δp in Pa below which there is no difference left to watch.
func (f *Finder) gone() float64 { return max(5*f.sigma(), 0.02*f.peak) }

func (f *Finder) rest(k int) {
	if !f.rested {
		f.settleRest(k)
		return
	}
	dev := f.blocks[k].p - f.level
	if math.Abs(dev) <= f.threshold() {
		if f.moved++; f.moved >= 12 {
			f.settleRest(k)
		}
		f.trim()
		return
	}
	f.draw, f.progress, f.flat = k, k, k
	f.sign = Suction
	if dev > 0 {
		f.sign = Pressure
	}
	f.peak, f.top, f.low = math.Abs(dev), math.Abs(dev), math.Abs(dev)
	f.begun, f.isolated = false, false
	f.lowSince, f.vent, f.raised = -1, -1, -1
	f.enter(Drawing, k)
}

// settleRest renews level and noise from the last blocks, if these are quiet.
func (f *Finder) settleRest(k int) {
	f.moved = 0
	from := k
	for from > 0 && f.blocks[k].t-f.blocks[from-1].t <= restWindow {
		from--
	}
	// A stream that has just become quiet is at rest as soon as its newest part is.
	for ; from < k; from++ {
		if f.blocks[k].t-f.blocks[from].t < restSeconds {
			return
		}
		v := make([]float64, 0, 64)
		for _, b := range f.blocks[from : k+1] {
			v = append(v, b.p)
		}
		level, noise := median(v), max(spread(v), 0.02)
		if !f.plausibleRest(level) {
			return
		}
		if f.quiet(v, level, noise) {
			if !f.rested {
				f.since = f.blocks[from].from
			}
			f.level, f.noise, f.wander, f.rested = level, noise, wander(v, level), true
			f.trim()
			return
		}
		from += max(0, (k-from)/8)
	}
}

// quiet reports whether all values lie about the level as noise does: a quantised
// sensor may sit still and then hop by a step, so a few Pa are always allowed. One
// value of a vent among them, and the rest would begin too early.
func (f *Finder) quiet(v []float64, level, noise float64) bool {
	third := len(v) / 3
	head, tail := median(v[:third+1]), median(v[len(v)-third-1:])
	near := 4*max(noise, f.grain/math.Sqrt(12)) + 8
	if math.Abs(head-level) > near || math.Abs(tail-level) > near {
		return false
	}
	for _, x := range v {
		if math.Abs(x-level) > 2*near {
			return false
		}
	}
	return true
}

func (f *Finder) plausibleRest(level float64) bool {
	if f.kind == trace.Absolute {
		return level > leastAmbient
	}
	return math.Abs(level) < mostZero
}

func (f *Finder) drawing(k int) {
	d, t := f.delta(k), f.blocks[k].t
	if !f.begun {
		if !f.begin(k, d) {
			return
		}
	}
	f.low = min(f.low, d)
	if d > f.low+max(6*f.sigma(), 5*f.wander, 0.003*f.peak, 3) {
		f.progress, f.flat, f.low = k, k, d
		f.peak, f.top = max(f.peak, d), d
		f.lowSince = -1
		f.enter(Drawing, k)
		return
	}
	f.peak, f.top = max(f.peak, d), max(f.top, d)
	if d > f.top-max(4*f.sigma(), 0.0008*f.peak) {
		f.flat = k
	}
	if f.empty(k, d) {
		f.emptied(k)
		return
	}
	since := t - f.blocks[f.progress].t
	if since >= paused {
		f.enter(Settling, k)
	}
	left := since >= settled && t-f.blocks[f.flat].t >= settled/2 && f.below(k)
	if f.lowSince < 0 && (left || since >= flatSeconds) {
		f.isolate()
	}
}

// below reports whether Δ has lately been lower than a gauge that wanders shows of a Δ
// that is still held at the top.
func (f *Finder) below(k int) bool {
	const lately = 0.4 // s
	var sum, n float64
	for i := k; i >= 0 && f.blocks[k].t-f.blocks[i].t < lately; i-- {
		sum += f.delta(i)
		n++
	}
	return sum/n < f.top-6*f.wander
}

// begin watches a move that may become a draw, and reports whether it is one by now.
func (f *Finder) begin(k int, d float64) bool {
	f.peak = max(f.peak, d)
	if d >= max(leastDraw, 25*f.sigma()) {
		f.begun = true
		from := f.oldest(f.blocks[f.draw].t - keepBefore)
		f.say(Event{Kind: Begun, T: f.readingAt(f.blocks[f.draw].from).T, From: f.readingAt(from).T, Readings: f.readingsFrom(from)})
		return true
	}
	t := f.blocks[k].t
	back := math.Abs(d) <= f.threshold()
	if back && f.lowSince < 0 {
		f.lowSince = k
	} else if !back {
		f.lowSince = -1
	}
	switch {
	case d < -f.threshold(): // it swung to the other side
		f.sign, f.peak, f.lowSince = -f.sign, -d, -1
	case back && t-f.blocks[f.lowSince].t > restSeconds:
		f.since = f.blocks[f.lowSince].from
		f.lowSince = -1
		f.enter(Rest, k)
	case t-f.blocks[f.draw].t > stepSeconds:
		f.rested = false
		f.settleRest(k)
		switch {
		case f.rested:
			f.lowSince = -1
			f.enter(Rest, len(f.blocks)-1)
		case t-f.blocks[f.draw].t > knock:
			f.lowSince = -1
			f.enter(Rest, k)
		default:
			f.rested = true // the old level holds on
		}
	}
	return false
}

// empty reports whether the difference has been gone for long enough.
func (f *Finder) empty(k int, d float64) bool {
	if d > f.gone() {
		f.lowSince = -1
		return false
	}
	if f.lowSince < 0 {
		f.lowSince = k
		if onset, _ := f.ventOnset(); f.isolated && onset >= 0 {
			// Let out, no doubt. A vent shut again too soon lets the difference
			// come back with the warmth of the air, so this does not wait.
			return true
		}
	}
	return f.blocks[k].t-f.blocks[f.lowSince].t >= lowSeconds
}

// isolate says that the joint was shut off after the last progress.
func (f *Finder) isolate() {
	f.isolated = true
	f.isolation = max(f.corner(f.blocks[f.progress].t-0.25), f.blocks[f.draw].t)
	f.low = math.Inf(1)
	f.say(Event{Kind: Isolated, T: seconds(f.isolation)})
	f.enter(Holding, f.progress)
}

// corner returns the time of isolation, looked for from a time on to now. Where no
// bend stands out of the noise it is the end of the last progress.
func (f *Finder) corner(from float64) float64 {
	pts := thin(f.buf[f.oldest(from-0.5)-f.off:], f.sign, f.level)
	sigma := max(f.readingNoise(), 0.02)
	at, found := f.blocks[f.progress].t, false
	if c, ok := lastCorner(pts, from, f.fallen(), sigma); ok {
		at, found = c.t, ok
	}
	// The bend where a pump let go may be too faint to see; that Δ had stayed level
	// until then is not.
	if level := f.blocks[f.flat].t; !found && level > at || level > at+paused {
		at = level
	}
	return at
}

// fallen returns the time by which Δ has clearly fallen from the top. A pump holds it
// there, give or take what a wandering gauge shows, until the valve is shut; once it has
// fallen it bends further only because something opened.
func (f *Finder) fallen() float64 {
	last := f.flat
	for k := f.flat; k < len(f.blocks); k++ {
		if f.delta(k) > f.top-max(8*f.sigma(), 0.004*f.peak) {
			last = k
		}
	}
	until := f.blocks[last].t + 2*blockSeconds
	if last+1 < len(f.blocks) { // it may have been in a gap
		until = max(until, f.blocks[last+1].t)
	}
	return until
}

// readingNoise is the noise of one thinned point, from that of a block's mean.
func (f *Finder) readingNoise() float64 {
	n := len(f.blocks)
	if n < 2 {
		return f.sigma()
	}
	perBlock := float64(f.blocks[n-1].to-f.blocks[0].from) / float64(n)
	perPoint := max(1, cornerPitch/max(interval(f.buf[max(0, len(f.buf)-64):]), 1e-4))
	return f.sigma() * math.Sqrt(max(1, perBlock/perPoint))
}

func (f *Finder) holding(k int) {
	d := f.delta(k)
	if f.empty(k, d) {
		f.emptied(k)
		return
	}
	if f.blocks[k].t-f.isolation > longest {
		f.finish(f.build(f.heldFrom(), f.blocks[k].from, Cut), k)
		f.rested = false
		return
	}
	f.low = min(f.low, f.lately(k))
	rise := max(12*f.sigma(), 0.04*f.peak)
	switch {
	case d <= f.low+rise:
		f.raised = -1
	case f.raised < 0:
		f.raised = k
	case f.blocks[k].t-f.blocks[f.raised].t > 0.5:
		f.redrawn(k)
	}
}

// dip is how long in s a knock may lower Δ before it counts as the level.
const dip = 0.6

// lately returns the largest Δ of the last moments: a dip that is over by then never
// counts as low, and what comes back from it is not taken for a new draw.
func (f *Finder) lately(k int) float64 {
	d := f.delta(k)
	for i := k - 1; i >= 0 && f.blocks[k].t-f.blocks[i].t < dip && f.blocks[i].t > f.isolation; i-- {
		d = max(d, f.delta(i))
	}
	return d
}

// redrawn ends the hold where a new draw began and goes on with that draw.
func (f *Finder) redrawn(k int) {
	start := f.raised
	for start > 1 && f.delta(start-1) < f.delta(start) && f.blocks[start].t-f.blocks[start-1].t < 0.2 {
		start--
	}
	h := f.build(f.heldFrom(), f.blocks[max(start-1, 0)].from, Redrawn)
	f.say(Event{Kind: Ended, Hold: h, T: seconds(f.blocks[start].t)})
	// The next hold has no rest of its own: it goes on with that of the first.
	first := f.off + len(f.buf) - len(h.Readings)
	f.earlier = Span{first + h.Before.From, first + h.Before.To}
	f.isolated, f.begun = false, true
	f.draw, f.raised = start, -1
	f.progress, f.flat, f.low = k, k, f.delta(k)
	f.peak, f.top = max(f.low, f.delta(start)), f.low
	f.say(Event{Kind: Begun, T: f.readingAt(f.blocks[start].from).T, From: f.readingAt(f.off).T, Readings: f.readingsFrom(f.off)})
	f.enter(Drawing, k)
}

// emptied ends the hold whose difference is gone: found out backwards, by a vent or by the leak.
func (f *Finder) emptied(k int) {
	onset, rate := f.ventOnset()
	if !f.isolated {
		f.isolation = max(f.corner(f.blocks[f.progress].t-0.25), f.blocks[f.draw].t)
		if (onset >= 0 && f.blocks[onset].t-f.isolation < paused) || rate > ventRate {
			f.vent = max(onset, f.progress)
			f.isolation = math.NaN()
			f.enter(Venting, k)
			return
		}
		f.isolated = true
		f.say(Event{Kind: Isolated, T: seconds(f.isolation)})
	}
	if onset < 0 {
		h := f.build(f.heldFrom(), f.blocks[f.lowSince].to, Exhausted)
		f.finish(h, k)
		return
	}
	f.vent = onset
	f.enter(Venting, k)
}

// ventOnset returns the block in which the fall to nothing began, -1 when the
// difference went by itself, and the rate in 1/s at which the hold fell before.
func (f *Finder) ventOnset() (onset int, rate float64) {
	start := f.progress
	for start < f.lowSince && f.isolated && f.blocks[start].t < f.isolation {
		start++
	}
	end := f.lowSince
	falls := make([]float64, 0, end-start)
	for k := start + 1; k <= end; k++ {
		falls = append(falls, f.fall(k))
	}
	if len(falls) == 0 {
		return end, 0
	}
	rate = max(median(falls), 0)
	onset = -1
	for k := end; k > start; k-- {
		dt := f.blocks[k].t - f.blocks[k-1].t
		if f.fall(k) < 3.5*rate+1 || f.delta(k-1)-f.delta(k) < max(6*f.sigma(), 0.05*f.gone()) && f.delta(k-1) > 3*f.gone() {
			if k == end && dt > 0 { // the last block before nothing may lie in the tail
				continue
			}
			break
		}
		onset = k
	}
	if onset >= 0 && f.delta(onset-1) < 0.08*f.peak {
		onset = -1 // there was hardly anything left to let out
	}
	return onset, rate
}

// fall is the relative rate in 1/s at which Δp fell into block k.
func (f *Finder) fall(k int) float64 {
	a, b := f.delta(k-1), max(f.delta(k), 0)
	dt := f.blocks[k].t - f.blocks[k-1].t
	if a <= 0 || dt <= 0 {
		return 0
	}
	return 2 * (a - b) / (a + b) / dt
}

// venting waits for the rest after the vent.
func (f *Finder) venting(k int) {
	since := f.blocks[k].t - f.blocks[f.vent].t
	again := math.Abs(f.delta(k)) > max(leastDraw, 25*f.sigma()) && since > 0.5
	if since < keepAfter && !again {
		return
	}
	f.finish(f.vented(), k)
	if again {
		f.rest(len(f.blocks) - 1)
	}
}

// vented builds the hold that ended with the vent.
func (f *Finder) vented() *Hold {
	if !f.isolated {
		return f.build(-1, -1, Vented)
	}
	// The block before the onset may hold the first of the fall, and the valve's first crack.
	last := max(f.vent-1, f.progress)
	return f.build(f.heldFrom(), f.blocks[last].from, Vented)
}

// finish says that a hold ended, and goes back to rest.
func (f *Finder) finish(h *Hold, k int) {
	f.say(Event{Kind: Ended, Hold: h, T: h.endTime()})
	f.begun, f.isolated = false, false
	f.lowSince, f.vent, f.raised = -1, -1, -1
	f.earlier = Span{}
	f.enter(Rest, k)
	f.moved = 0
	// The rest that now begins does not reach back into the vent.
	begin := f.blocks[k].from
	if h.After.Len() > 0 {
		begin = f.off + len(f.buf) - len(h.Readings) + h.After.From
	}
	// A new rest is found before anything can move away from it. Where the bore
	// came back to its old level, that will do until then.
	old := f.level
	f.rested = false
	f.settleRest(k)
	if n := len(f.blocks); n > 0 && !f.rested && math.Abs(f.blocks[n-1].p-old) < f.threshold() {
		f.rested = true
	}
	f.since = max(f.since, begin)
	f.trim()
}

// cut ends whatever is in progress, because readings end or are missing.
func (f *Finder) cut() {
	if b, ok := f.blocker.close(f.off + len(f.buf)); ok {
		f.step(b)
	}
	k := len(f.blocks) - 1
	switch {
	case k < 0:
	case f.phase == Venting:
		f.finish(f.vented(), k)
	case f.phase != Rest && f.lowSince >= 0 && f.begun:
		f.emptied(k)
		if f.phase == Venting {
			f.finish(f.vented(), k)
		}
	case f.isolated:
		f.finish(f.build(f.heldFrom(), f.off+len(f.buf), Cut), k)
	case f.phase != Rest && f.begun:
		f.finish(f.build(-1, -1, Cut), k)
	}
	if f.phase != Rest && k >= 0 {
		f.enter(Rest, k)
	}
	*f = Finder{kind: f.kind, events: f.events, lowSince: -1, vent: -1, raised: -1, off: f.off + len(f.buf)}
}

func (f *Finder) enter(p Phase, k int) {
	if p == f.phase {
		return
	}
	f.phase = p
	f.say(Event{Kind: PhaseChanged, T: seconds(f.blocks[k].t)})
}

func (f *Finder) say(e Event) {
	e.Phase = f.phase
	f.events = append(f.events, e)
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
