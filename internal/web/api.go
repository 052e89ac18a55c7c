package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"boretight/internal/bench"
)

const (
	defaultPage = 50
	largestPage = 200
)

// problem is the JSON of an answer that is no answer.
type problem struct {
	Code    string `json:"code"`
	Message string `json:"message"`
}

// holdsPage is the answer of GET /api/v1/holds.
type holdsPage struct {
	Schema string           `json:"schema"` // boretight/holds/1
	Holds  []bench.HoldData `json:"holds"`
	// Before asks for the next page; empty on the last.
	Before string `json:"before,omitempty"`
}

// snapshot answers with the bench's snapshot. Its holds carry their traces and are by
// far the most of it: ?gauge=NAME keeps those of one gauge, ?holds=N the newest N.
func (s *Site) snapshot(w http.ResponseWriter, r *http.Request) {
	snapshot := s.bench.Snapshot()
	if gauge := r.FormValue("gauge"); gauge != "" {
		snapshot.Holds = slices.DeleteFunc(snapshot.Holds, func(h bench.HoldData) bool { return h.Gauge != gauge })
	}
	if text := r.FormValue("holds"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 0 {
			refuse(w, http.StatusBadRequest, "bad_holds", fmt.Sprintf("holds is %s, want a number of holds", quoteShort(text)))
			return
		}
		snapshot.Holds = snapshot.Holds[:min(n, len(snapshot.Holds))]
	}
	s.answer(w, r, struct {
		bench.Snapshot
		House   shownHouse `json:"house"`
		Version string     `json:"version"` // of the program, whose page may be another one
	}{snapshot, s.shown().house(s.house()), s.version})
}

// readingsSoFar is the answer of GET /api/v1/readings.
type readingsSoFar struct {
	Schema   string    `json:"schema"` // boretight/readings/1
	Readings []reading `json:"readings"`
}

func (s *Site) readings(w http.ResponseWriter, r *http.Request) {
	gauge := r.FormValue("gauge")
	s.answer(w, r, readingsSoFar{"boretight/readings/1", flatten(gauge, s.bench.Recent(gauge))})
}

func (s *Site) holds(w http.ResponseWriter, r *http.Request) {
	limit := defaultPage
	if text := r.FormValue("limit"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > largestPage {
			refuse(w, http.StatusBadRequest, "bad_limit",
				fmt.Sprintf("limit is %s, want a number from 1 to %d", quoteShort(text), largestPage))
			return
		}
		limit = n
	}
	// One more than asked for tells whether there is a next page.
	holds, err := s.ledger.Holds(r.Context(), r.FormValue("before"), limit+1)
	if err != nil {
		s.fault(w, r, err)
		return
	}
	page := holdsPage{Schema: "boretight/holds/1", Holds: holds}
	if len(holds) > limit {
		page.Holds = holds[:limit]
		page.Before = page.Holds[limit-1].ID
	}
	if page.Holds == nil {
		page.Holds = []bench.HoldData{}
	}
	s.answer(w, r, page)
}

func (s *Site) hold(w http.ResponseWriter, r *http.Request) {
	hold, err := s.ledger.Hold(r.Context(), r.PathValue("id"))
	if err != nil {
		s.fault(w, r, err)
		return
	}
	s.answer(w, r, hold)
}

func (s *Site) healthy(w http.ResponseWriter, _ *http.Request) { say(w, http.StatusOK, "alive") }

// ready says whether holds can be recorded. A gauge that is not there yet is no
// reason to be unready: it may be plugged in at any time.
func (s *Site) ready(w http.ResponseWriter, _ *http.Request) {
	if trouble := s.bench.Snapshot().Ledger.Problem; trouble != "" {
		say(w, http.StatusServiceUnavailable, "not ready: ledger: "+trouble)
		return
	}
	say(w, http.StatusOK, "ready")
}

// answer sends v as JSON.
func (s *Site) answer(w http.ResponseWriter, r *http.Request, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		s.fault(w, r, fmt.Errorf("encode answer: %w", err))
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(append(data, '\n')) // fails only when the reader has gone
}

// fault answers for an error: the reader learns what it can act on, the log the rest. Who
// asked for a page gets one.
func (s *Site) fault(w http.ResponseWriter, r *http.Request, err error) {
	if errors.Is(err, ErrNoHold) {
		refuse(w, http.StatusNotFound, "no_such_hold", "the ledger has no hold of that name")
		return
	}
	if r.Context().Err() == nil { // else nobody waits for this answer
		s.logger.Error("request not answered", "path", r.URL.Path, "error", err)
	}
	s.refuseTo(w, r, http.StatusInternalServerError, "internal", "this could not be done; the program's log says why")
}

// refuseTo sends a problem as a page to who asked for one, else as JSON.
func (s *Site) refuseTo(w http.ResponseWriter, r *http.Request, status int, code, message string) {
	var page bytes.Buffer
	if !strings.Contains(r.Header.Get("Accept"), "text/html") ||
		s.views.ExecuteTemplate(&page, "notdone.html", s.notDoneView(r, capital(message)+".")) != nil {
		refuse(w, status, code, message)
		return
	}
	sendPage(w, status, page.Bytes())
}

// refuse sends a problem as JSON.
func refuse(w http.ResponseWriter, status int, code, message string) {
	data, _ := json.Marshal(struct { // two strings: cannot fail
		Error problem `json:"error"`
	}{problem{code, message}})
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(append(data, '\n'))
}

// say sends one line of plain text.
func say(w http.ResponseWriter, status int, line string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = io.WriteString(w, line+"\n")
}

// quoteShort quotes what a stranger sent, at a length fit for a message.
func quoteShort(s string) string {
	if len(s) > 60 {
		s = s[:60] + "…"
	}
	return strconv.QuoteToASCII(s)
}

// recent stands in for a ledger: the holds of the snapshot.
type recent struct{ bench Bench }

func (l recent) Holds(_ context.Context, before string, limit int) ([]bench.HoldData, error) {
	holds := l.bench.Snapshot().Holds
	if before != "" {
		at := slices.IndexFunc(holds, func(h bench.HoldData) bool { return h.ID == before })
		if at < 0 {
			return nil, fmt.Errorf("holds before %q: %w", before, ErrNoHold)
		}
		holds = holds[at+1:]
	}
	return holds[:min(limit, len(holds))], nil
}

func (l recent) Hold(_ context.Context, id string) (bench.HoldData, error) {
	for _, hold := range l.bench.Snapshot().Holds {
		if hold.ID == id {
			return hold, nil
		}
	}
	return bench.HoldData{}, fmt.Errorf("hold %q: %w", id, ErrNoHold)
}
