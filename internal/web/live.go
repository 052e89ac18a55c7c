package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"boretight/internal/bench"
)

const (
	// waiting events before a reader loses some: at 40 batches a second and gauge
	// about 6 s of one gauge.
	liveBuffer = 256
	// heartbeatEvery keeps the page sure within 2 s that somebody is there.
	heartbeatEvery = time.Second
	// writeTimeout is how long a reader may not take anything before it is let go;
	// it can come back and go on where it stopped.
	writeTimeout = 10 * time.Second
	// maxBatch is how many waiting events are taken at once: all that can wait.
	maxBatch = 2 * liveBuffer
)

// live streams the bench's events until the reader goes, the bench ends or the
// program does.
func (s *Site) live(w http.ResponseWriter, r *http.Request) {
	sub, err := s.subscribe(r)
	if err != nil {
		refuse(w, http.StatusBadRequest, "bad_event_id", err.Error())
		return
	}
	defer sub.Close()
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no") // a proxy must not collect events
	stream := liveStream{out: w, control: http.NewResponseController(w)}
	if stream.send([]byte("retry: 500\n\n")) != nil {
		return
	}
	heart := time.NewTicker(heartbeatEvery)
	defer heart.Stop()
	for {
		var message []byte
		select {
		case <-r.Context().Done():
			return
		case <-streamsEnd(r.Context()):
			return
		case <-heart.C:
			message = []byte("event: heartbeat\ndata: {}\n\n")
		case first, ok := <-sub.C:
			if !ok {
				return
			}
			message = s.encode(collect(first, sub))
			heart.Reset(heartbeatEvery)
		}
		if stream.send(message) != nil {
			return // the reader has gone or takes nothing: both are its own affair
		}
	}
}

// subscribe begins after the event that the reader saw last, if it says so. EventSource
// sends the header when it comes back by itself; a script that opens a new one cannot
// set headers and uses the address.
func (s *Site) subscribe(r *http.Request) (*bench.Subscription, error) {
	last := r.Header.Get("Last-Event-ID")
	if last == "" {
		last = r.URL.Query().Get("after")
	}
	if last == "" {
		return s.bench.Subscribe(liveBuffer), nil
	}
	id, err := strconv.ParseUint(last, 10, 64)
	if err != nil {
		return nil, fmt.Errorf("last event is %s, want the number of an event", quoteShort(last))
	}
	return s.bench.SubscribeFrom(id, liveBuffer), nil
}

// collect takes the events that wait behind the first, without waiting for more.
func collect(first bench.Event, sub *bench.Subscription) batch {
	events := []bench.Event{first}
	for len(events) < maxBatch {
		select {
		case event, ok := <-sub.C:
			if ok {
				events = append(events, event)
				continue
			}
		default:
		}
		break
	}
	b := coarsen(events)
	b.missed = sub.Missed()
	return b
}

// encode writes a batch as server-sent events, told gaps first.
func (s *Site) encode(b batch) []byte {
	var out bytes.Buffer
	if b.missed > 0 || b.thinned > 0 {
		fmt.Fprintf(&out, "event: gap\ndata: {\"missed\":%d,\"thinned\":%d}\n\n", b.missed, b.thinned)
	}
	for _, event := range b.events {
		data, err := json.Marshal(event.Data) // JSON has no line ends: one data line
		if err != nil {
			s.logger.Error("event not sent", "kind", event.Kind, "id", event.ID, "error", err)
			continue
		}
		fmt.Fprintf(&out, "id: %d\nevent: %s\ndata: %s\n\n", event.ID, event.Kind, data)
	}
	return out.Bytes()
}

// liveStream writes with a deadline for each write: one for the whole stream would end it.
type liveStream struct {
	out     http.ResponseWriter
	control *http.ResponseController
}

func (l liveStream) send(message []byte) error {
	_ = l.control.SetWriteDeadline(time.Now().Add(writeTimeout)) // a writer without deadlines is one of a test
	if _, err := l.out.Write(message); err != nil {
		return fmt.Errorf("write events: %w", err)
	}
	if err := l.control.Flush(); err != nil {
		return fmt.Errorf("write events: %w", err)
	}
	return nil
}
