package ledger

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"hash"
	"time"

	"boretight/internal/hold"
	"boretight/internal/trace"
)

// maxQueued is the most readings kept while the disk does not answer, whatever
// their age: 26 MB. Ten seconds of eight gauges at 1 kHz are 80,000.
const maxQueued = 1 << 20

// queue holds what is not on the disk yet, in order. It knows no lock; its
// [Writer] guards it. Hashes run when a block is closed, which is final: what has
// once been taken is never dropped.
type queue struct {
	open  map[string]*openHold
	items []item
	// readings is the number in items and in blocks being filled.
	readings int
	lost     int64
}

// item is one step with the time it has been waiting since.
type item struct {
	step    Step
	hold    string
	since   time.Time
	receipt *Receipt // of an end
}

// openHold is a hold being written, with the block being filled.
type openHold struct {
	id      string
	since   time.Time // of the block's first reading
	start   time.Duration
	first   int64
	count   int64
	data    []byte
	running hash.Hash

	next       int64 // index of the next reading, lost ones included
	kept, lost int64
	gaps       int64
	inGap      bool
	refused    error
}

func newQueue() *queue { return &queue{open: make(map[string]*openHold)} }

func (q *queue) begin(b Begin, now time.Time) {
	q.open[b.ID] = &openHold{id: b.ID, running: sha256.New()}
	q.items = append(q.items, item{step: Step{Begin: &b}, hold: b.ID, since: now})
}

// add takes readings, or counts them as lost when the queue is full.
func (q *queue) add(h *openHold, rs []trace.Reading, now time.Time) error {
	if q.lag(now) > QueueTime || q.readings+len(rs) > maxQueued {
		q.lose(h, int64(len(rs)))
		return fmt.Errorf("append %d readings to hold %s: %w", len(rs), h.id, ErrOverflow)
	}
	h.inGap = false
	for _, r := range rs {
		if h.count > 0 && r.T-h.start >= BlockSpan {
			q.close(h)
		}
		if h.count == 0 {
			h.since, h.start, h.first = now, r.T, h.next
		}
		h.data = AppendReading(h.data, r)
		h.count++
		h.next++
		q.readings++
	}
	return nil
}

func (q *queue) lose(h *openHold, n int64) {
	q.close(h) // indices within a block have no gap
	if !h.inGap && n > 0 {
		h.gaps++
		h.inGap = true
	}
	h.next += n
	h.lost += n
	q.lost += n
}

// close puts the block being filled in line.
func (q *queue) close(h *openHold) {
	if h.count == 0 {
		return
	}
	h.running.Write(h.data)
	b := &Block{Hold: h.id, First: h.first, Count: h.count, Data: h.data, Running: digest(h.running)}
	q.items = append(q.items, item{step: Step{Block: b}, hold: h.id, since: h.since})
	h.kept += h.count
	h.data, h.count = nil, 0
}

func digest(h hash.Hash) Digest { return Digest(h.Sum(nil)) }

// end closes a hold; outcome nil means that it is interrupted.
func (q *queue) end(h *openHold, outcome json.RawMessage, parts *hold.Parts, now time.Time) *Receipt {
	q.close(h)
	delete(q.open, h.id)
	e := &End{
		ID: h.id, Readings: h.kept, SHA256: digest(h.running), LostReadings: h.lost, Gaps: h.gaps,
		Interrupted: outcome == nil, Ended: now.UTC().Truncate(time.Microsecond), Outcome: outcome, Parts: parts,
	}
	it := item{step: Step{End: e}, hold: h.id, since: now, receipt: newReceipt()}
	q.items = append(q.items, it)
	return it.receipt
}

// closeAll closes the blocks of all open holds and returns the steps to commit.
func (q *queue) closeAll() []Step {
	for _, h := range q.open {
		q.close(h)
	}
	steps := make([]Step, len(q.items))
	for i, it := range q.items {
		steps[i] = it.step
	}
	return steps
}

// committed drops the first n items, which are on the disk or refused.
func (q *queue) committed(n int, refused map[string]error) {
	for id, err := range refused {
		if h := q.open[id]; h != nil && h.refused == nil {
			h.refused = err
		}
	}
	for _, it := range q.items[:n] {
		if it.step.Block != nil {
			q.readings -= int(it.step.Block.Count)
		}
		if it.receipt != nil {
			it.receipt.settle(refused[it.hold])
		}
	}
	q.items = append([]item(nil), q.items[n:]...) // lets the blocks written go
}

// abandon settles what will never be written.
func (q *queue) abandon(err error) {
	for _, it := range q.items {
		if it.receipt != nil {
			it.receipt.settle(err)
		}
	}
	q.items, q.readings = nil, 0
}

// lag returns the age of the oldest thing waiting.
func (q *queue) lag(now time.Time) time.Duration {
	if len(q.items) > 0 {
		return now.Sub(q.items[0].since)
	}
	var lag time.Duration
	for _, h := range q.open {
		if h.count > 0 {
			lag = max(lag, now.Sub(h.since))
		}
	}
	return lag
}
