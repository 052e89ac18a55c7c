package bench

import (
	"sync"
	"sync/atomic"
)

// Hub numbers events and hands them to subscribers.
//
// It never waits for anybody: the recording must not stall because a page does.
// A subscriber that does not keep up loses its oldest waiting events, so that
// what it reads next is what happens now, and learns their number from
// [Subscription.Missed]. The latest events are kept in a ring, so that a reader
// whose connection broke can go on where it stopped.
//
// All methods may be called from several goroutines at once.
type Hub struct {
	mu     sync.Mutex
	last   uint64 // number of the latest event; the first is 1
	ring   []Event
	next   int // where in ring the next event goes, once ring is full
	subs   map[*Subscription]struct{}
	closed bool

	dropped atomic.Uint64
}

// NewHub returns a hub that keeps the latest ring events for those who come back.
func NewHub(ring int) *Hub {
	return &Hub{
		ring: make([]Event, 0, max(ring, 0)),
		subs: make(map[*Subscription]struct{}),
	}
}

// Publish numbers an event and offers it to every subscriber. The hub keeps data:
// the caller must not change it afterwards. After Close it does nothing.
func (h *Hub) Publish(kind EventKind, data any) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		return
	}
	h.last++
	event := Event{ID: h.last, Kind: kind, Data: data}
	h.keep(event)
	for s := range h.subs {
		s.offer(event)
	}
}

// Subscribe returns the events from now on, with room for buffer of them to wait (at least one).
func (h *Hub) Subscribe(buffer int) *Subscription {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.subscribe(nil, buffer)
}

// SubscribeFrom returns the events after the one numbered id: first those still kept,
// then the new ones. Events no longer kept are counted as missed. A number that this
// hub has not given yet, which is one of an earlier run, counts as one missed event:
// the reader should then ask for a snapshot.
func (h *Hub) SubscribeFrom(id uint64, buffer int) *Subscription {
	h.mu.Lock()
	defer h.mu.Unlock()
	if id > h.last {
		s := h.subscribe(nil, buffer)
		s.missed.Store(1)
		return s
	}
	kept := min(h.last-id, uint64(len(h.ring)))
	s := h.subscribe(h.latest(int(kept)), buffer)
	s.missed.Store(h.last - id - kept)
	return s
}

// Close ends all subscriptions, now and later.
func (h *Hub) Close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for s := range h.subs {
		h.drop(s)
	}
}

// Dropped returns how many events were lost so far to subscribers that did not keep up, one
// counted as often as it was lost.
func (h *Hub) Dropped() uint64 { return h.dropped.Load() }

func (h *Hub) keep(event Event) {
	switch {
	case cap(h.ring) == 0:
	case len(h.ring) < cap(h.ring):
		h.ring = append(h.ring, event)
	default:
		h.ring[h.next] = event
		h.next = (h.next + 1) % len(h.ring)
	}
}

// latest returns the n latest events, oldest first; n is at most len(h.ring).
func (h *Hub) latest(n int) []Event {
	events := make([]Event, 0, n)
	for i := len(h.ring) - n; i < len(h.ring); i++ {
		events = append(events, h.ring[(h.next+i)%len(h.ring)])
	}
	return events
}

func (h *Hub) subscribe(backlog []Event, buffer int) *Subscription {
	c := make(chan Event, max(buffer, 1)+len(backlog))
	s := &Subscription{C: c, c: c, hub: h}
	for _, event := range backlog {
		c <- event
	}
	if h.closed {
		close(c)
		return s
	}
	h.subs[s] = struct{}{}
	return s
}

// drop ends one subscription, once. h.mu is held, so that no Publish can send on the closed channel.
func (h *Hub) drop(s *Subscription) {
	if _, ok := h.subs[s]; ok {
		delete(h.subs, s)
		close(s.c)
	}
}

// Subscription is one reader's view of the events of a [Hub].
type Subscription struct {
	// C carries the events in order. It is closed by Close and when the hub closes;
	// events waiting then can still be read.
	C <-chan Event

	c      chan Event
	hub    *Hub
	missed atomic.Uint64
}

// Missed returns how many events were lost since it was last asked.
func (s *Subscription) Missed() uint64 { return s.missed.Swap(0) }

// Close ends the subscription. It may be called more than once.
func (s *Subscription) Close() {
	s.hub.mu.Lock()
	defer s.hub.mu.Unlock()
	s.hub.drop(s)
}

// offer queues an event, at the cost of the oldest waiting one when there is no room.
// The hub's mutex makes this the only sender: after one receive there is room.
func (s *Subscription) offer(event Event) {
	select {
	case s.c <- event:
		return
	default:
	}
	select {
	case <-s.c:
		s.missed.Add(1)
		s.hub.dropped.Add(1)
	default: // the reader took one meanwhile
	}
	s.c <- event
}
