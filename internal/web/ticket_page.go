package web

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"

	"boretight/internal/catalog"
	"boretight/internal/ticket"
)

// ticketPageView is the page of one ticket.
type ticketPageView struct {
	Frame          frame
	ID, Path       string
	Title, Detail  string
	InstrumentPath string
	Opened, Closed string
	IsOpen, New    bool
	MayChange      bool
	Customer       ticket.Customer
	Complaint      string
	Condition      string
	Remark         string
	Joints         []ticketJoint
	Next           *ticketStage // what is to be measured next; nil when all was
	Done           bool         // all was measured of an open ticket
	Gauges         []choice
	Rules          []string
	Work           []ticketWork
	JointChoices   []choice
	Seats          []string
	Forms          ticketForms
}

// ticketForms are the forms of a ticket's page, as they are or as they were refused.
type ticketForms struct{ work, closing, bench *form }

// Work is the form that adds work.
func (f ticketForms) Work() *form { return f.work }

// Closing is the form that closes the ticket.
func (f ticketForms) Closing() *form { return f.closing }

// Bench is the form that lays a joint on the bench.
func (f ticketForms) Bench() *form { return f.bench }

// ticketPut is the form that puts a joint on the bench.
type ticketPut struct {
	Stage  *ticketStage
	Path   string
	Gauges []choice
	Main   bool   // the one thing to do next
	First  bool   // it has the focus
	Says   string // on its button
}

// PutOf is the form that puts a stage on the bench.
func (v ticketPageView) PutOf(stage *ticketStage, main bool) ticketPut {
	put := ticketPut{Stage: stage, Path: v.Path, Gauges: v.Gauges, Main: main, First: main && v.New, Says: "Put on the bench"}
	if stage.Trial != nil {
		put.Says = "Measure again"
	}
	return put
}

// ticketWork is what was done.
type ticketWork struct{ Day, Stamp, Where, Did string }

func (s *Site) ticketPage(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	if t, ok := s.ticketNamed(w, r, shelf); ok {
		s.renderTicket(w, r, shelf, http.StatusOK, t, ticketForms{})
	}
}

func (s *Site) renderTicket(w http.ResponseWriter, r *http.Request, shelf TicketShelf, status int, t ticket.Ticket, forms ticketForms) {
	templates, err := shelf.Templates(r.Context())
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	trials, err := shelf.TrialsOf(r.Context(), t.ID)
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	of := templateOf(templates, t.Instrument.Template)
	view := s.ticketPageView(t, of, forms)
	view.Joints, view.Rules = s.ticketJoints(r.Context(), shelf, t, of, trials)
	view.Next = nextStage(t, view.Joints)
	view.Done = t.Open() && view.Next == nil
	view.New = r.FormValue("new") != "" && view.Next != nil
	title := t.ID + ", " + view.Title
	view.Frame = s.frame(r, title, "/tickets", ticketStyle)
	view.Frame.Back = &link{"/tickets", "All tickets"}
	s.renderAs(w, r, status, "ticket.html", view)
}

// ticketPageView is all of it that needs no trials.
func (s *Site) ticketPageView(t ticket.Ticket, of catalog.Instrument, forms ticketForms) ticketPageView {
	u := s.shown()
	view := ticketPageView{
		ID: t.ID, Path: "/tickets/" + url.PathEscape(t.ID), Title: cmp.Or(of.Title.Value, t.Instrument.Template), Detail: makeOf(t.Instrument),
		Opened: u.day(t.Opened), Closed: u.day(t.Closed), IsOpen: t.Open(), MayChange: s.desk != nil,
		Customer: t.Customer, Complaint: t.Complaint, Condition: t.Condition, Remark: t.Remark, Forms: forms,
	}
	if t.Instrument.ID != "" {
		view.InstrumentPath = "/instruments/" + url.PathEscape(t.Instrument.ID)
	}
	if view.Forms.work == nil {
		view.Forms.work = newForm()
	}
	if view.Forms.closing == nil {
		view.Forms.closing = newForm("remark", t.Remark)
	}
	if view.Forms.bench == nil {
		view.Forms.bench = newForm()
	}
	view.JointChoices = []choice{{"", "the whole instrument"}}
	for _, joint := range t.Joints {
		view.JointChoices = append(view.JointChoices, choice{joint, jointTitle(of, joint)})
		if known, ok := of.Joint(joint); ok {
			for _, seat := range known.Seats {
				if !slices.Contains(view.Seats, seat.Name) {
					view.Seats = append(view.Seats, seat.Name)
				}
			}
		}
	}
	for _, work := range t.Work {
		where := jointTitle(of, work.Joint)
		if work.Seat != "" {
			where += ", seat " + work.Seat
		}
		if work.Joint == "" {
			where = cmp.Or(work.Seat, "whole instrument")
		}
		view.Work = append(view.Work, ticketWork{
			u.day(work.At), work.At.UTC().Format(stampOfDay), where, cmp.Or(work.Did, "what was done was erased"),
		})
	}
	for _, g := range s.bench.Snapshot().Gauges {
		view.Gauges = append(view.Gauges, choice{g.Name, g.Name})
	}
	return view
}

// stampOfDay is a date for machines.
const stampOfDay = "2006-01-02"

// templateOf finds a kind of instrument in the catalogue; the zero one where it has gone.
func templateOf(templates []catalog.Instrument, name string) catalog.Instrument {
	k := slices.IndexFunc(templates, func(x catalog.Instrument) bool { return x.Name == name })
	if k < 0 {
		return catalog.Instrument{}
	}
	return templates[k]
}

// jointTitle names a joint for people.
func jointTitle(of catalog.Instrument, name string) string {
	if j, ok := of.Joint(name); ok && j.Title.Value != "" {
		return j.Title.Value
	}
	return name
}

// nextStage is the first stage of the visit that has no trial yet.
func nextStage(t ticket.Ticket, joints []ticketJoint) *ticketStage {
	if !t.Open() {
		return nil
	}
	for _, stage := range t.Stages() {
		for _, j := range joints {
			if j.Of != stage.Joint {
				continue
			}
			if next := j.lacks(stage.When); next != nil {
				return next
			}
		}
	}
	return nil
}
