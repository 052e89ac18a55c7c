package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"time"

	"boretight/internal/ticket"
)

// ticketNamed reads the ticket that a request is about, or answers that there is none.
func (s *Site) ticketNamed(w http.ResponseWriter, r *http.Request, shelf TicketShelf) (ticket.Ticket, bool) {
	t, err := shelf.Ticket(r.Context(), r.PathValue("id"))
	if err != nil {
		s.ticketFault(w, r, err)
		return t, false
	}
	return t, true
}

// toTicket goes on to the page of a ticket.
func toTicket(w http.ResponseWriter, r *http.Request, id, part string) {
	http.Redirect(w, r, "/tickets/"+url.PathEscape(id)+part, http.StatusSeeOther)
}

func (s *Site) editPage(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	t, ok := s.ticketNamed(w, r, shelf)
	if !ok {
		return
	}
	f := newForm("instrument", t.Instrument.Template, "maker", t.Instrument.Maker, "model", t.Instrument.Model, "serial", t.Instrument.Serial,
		"customer", t.Customer.Name, "contact", t.Customer.Contact, "complaint", t.Complaint, "condition", t.Condition)
	f.values["joints"] = jointsOf(t)
	s.renderIntake(w, r, shelf, http.StatusOK, f, editing(t))
}

// editing is the view of a form that changes a ticket.
func editing(t ticket.Ticket) intakeView {
	return intakeView{Ticket: t.ID, Action: "/tickets/" + url.PathEscape(t.ID) + "/edit"}
}

func (s *Site) edit(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	t, ok := s.ticketNamed(w, r, shelf)
	if !ok {
		return
	}
	f := sent(r)
	f.values.Del("known") // which instrument it is does not change
	changed, err := s.ticketTold(r.Context(), shelf, f, t)
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	if !f.Any() {
		if _, err = s.desk.KeepTicket(r.Context(), changed); err == nil {
			toTicket(w, r, t.ID, "")
			return
		}
		if !f.refuseTicket(err) {
			s.ticketFault(w, r, err)
			return
		}
	}
	s.renderIntake(w, r, shelf, http.StatusUnprocessableEntity, f, editing(t))
}

func (s *Site) addWork(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	t, ok := s.ticketNamed(w, r, shelf)
	if !ok {
		return
	}
	f := sent(r)
	work := ticket.Work{Joint: f.Value("joint"), Seat: f.Value("seat"), Did: f.Value("did")}
	if work.Did == "" {
		f.fault("did", "Say what was done, such as: replaced the pad, leveled the seat.")
	}
	if !f.Any() {
		_, err := s.desk.AddWork(r.Context(), t.ID, work)
		if err == nil {
			toTicket(w, r, t.ID, "#work")
			return
		}
		if !f.refuseTicket(err) {
			s.ticketFault(w, r, err)
			return
		}
	}
	s.renderTicket(w, r, shelf, http.StatusUnprocessableEntity, t, ticketForms{work: f})
}

func (s *Site) closeTicket(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	s.changeTicket(w, r, shelf, func(t *ticket.Ticket, f *form) {
		if t.Open() {
			t.Closed = time.Now().UTC()
		}
		t.Remark = f.Value("remark")
	})
}

func (s *Site) reopenTicket(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	s.changeTicket(w, r, shelf, func(t *ticket.Ticket, _ *form) { t.Closed = time.Time{} })
}

// changeTicket records a change of a ticket and goes on to its page.
func (s *Site) changeTicket(w http.ResponseWriter, r *http.Request, shelf TicketShelf, change func(*ticket.Ticket, *form)) {
	t, ok := s.ticketNamed(w, r, shelf)
	if !ok {
		return
	}
	f, changed := sent(r), t
	if f.Any() { // nothing that was said may be taken for nothing said
		s.renderTicket(w, r, shelf, http.StatusUnprocessableEntity, t, ticketForms{closing: f})
		return
	}
	change(&changed, f)
	if _, err := s.desk.KeepTicket(r.Context(), changed); err != nil {
		if !f.refuseTicket(err) {
			s.ticketFault(w, r, err)
			return
		}
		s.renderTicket(w, r, shelf, http.StatusUnprocessableEntity, t, ticketForms{closing: f})
		return
	}
	toTicket(w, r, t.ID, "")
}

// layTicket lays a joint of a ticket on the bench.
func (s *Site) layTicket(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	t, ok := s.ticketNamed(w, r, shelf)
	if !ok {
		return
	}
	f := sent(r)
	put := Put{Ticket: t.ID, Joint: f.Value("joint"), When: f.Value("when"), Section: f.Value("section"), Closure: f.Value("closure")}
	if err := s.layStage(r.Context(), t, f.Value("gauge"), put); err != nil {
		if !f.refuseTicket(err) {
			s.ticketFault(w, r, err)
			return
		}
		f.Whole = strings.TrimSuffix(f.words(), ".") + "." // its fields are not seen
		s.renderTicket(w, r, shelf, http.StatusUnprocessableEntity, t, ticketForms{bench: f})
		return
	}
	http.Redirect(w, r, "/"+askGauge(f.Value("gauge"), len(s.bench.Snapshot().Gauges)), http.StatusSeeOther)
}

// askGauge asks the bench's page for a gauge where there are several.
func askGauge(gauge string, gauges int) string {
	if gauge == "" || gauges < 2 {
		return ""
	}
	return "?" + url.Values{"gauge": {gauge}}.Encode()
}

func (s *Site) layStage(ctx context.Context, t ticket.Ticket, gauge string, put Put) error {
	for _, stage := range t.Stages() {
		if stage.Joint == put.Joint && stage.When == put.When {
			return s.desk.Put(ctx, gauge, put)
		}
	}
	return &Fault{Says: "This ticket has no joint " + quoteShort(put.Joint) + ": open the page anew, the ticket may have been changed meanwhile."}
}

// refuseTicket takes over what is wrong with a ticket or with work, beside the fields; it
// reports false of an error that no form can mend.
func (f *form) refuseTicket(err error) bool {
	faults := ticket.Faults(err)
	for _, fault := range faults {
		f.fault(fault.Field, asSentence(fault.Says))
	}
	return len(faults) > 0 || f.refuse(err)
}
