package web

import (
	"context"
	"net/http"
)

// Desk is what pages may do besides looking. Errors that the person at the page can mend
// hold a [*Fault] for each field that is wrong.
type Desk interface {
	TicketDesk

	// Put lays a joint on the bench, on a gauge.
	Put(ctx context.Context, gauge string, p Put) error
	// Layable returns what may be laid on the bench.
	Layable(ctx context.Context) (Layable, error)
	// Ahead returns what the visit on the bench of a gauge has ahead.
	Ahead(ctx context.Context, gauge string) (Ahead, error)
	// Step steps on to the next stage of the visit that is on the bench, and returns it.
	Step(ctx context.Context, gauge string) (Put, error)
	// Void sets a hold aside for a reason; its trials are judged again.
	Void(ctx context.Context, hold, reason string) error
}

// Put is what lies on the bench.
type Put struct {
	Ticket  string `json:"ticket,omitempty"`
	Joint   string `json:"joint"` // INSTRUMENT/JOINT
	Section string `json:"section,omitempty"`
	Closure string `json:"closure,omitempty"`
	When    string `json:"when,omitempty"` // as_found or as_left
}

// Ahead is what a visit has ahead. Known tells that the ticket on the bench is one on record;
// Next is the stage to step on to, nil after the last.
type Ahead struct {
	Known bool
	Next  *Put
}

// Layable is what may be laid on the bench: joints of the catalog, and the stages of the
// tickets that are open.
type Layable struct {
	Joints  []string // INSTRUMENT/JOINT
	Tickets []OpenTicket
}

// OpenTicket is a visit that goes on.
type OpenTicket struct {
	ID, Words string
	Stages    []Put
}

// onlyLooks refuses what a site without a desk cannot do.
func (s *Site) onlyLooks(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if s.desk == nil {
			s.refuseTo(w, r, http.StatusNotImplemented, "only_looks", "this page can only be looked at: the program was started without what it would change")
			return
		}
		next(w, r)
	}
}
