package web

import (
	"cmp"
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"boretight/internal/catalog"
	"boretight/internal/ledger"
	"boretight/internal/ticket"
)

// An intake takes half a minute, by keyboard alone, with script or without: Enter goes on, to
// the next empty field, to the question whether the instrument was here before, or after the
// last field to the ticket. What was typed goes with it.

// intakeView is the form that opens a ticket, or changes one.
type intakeView struct {
	Frame  frame
	Form   *form
	Action string // where it is sent
	Ticket string // that is changed; empty at intake
	Kinds  []kindChoice
	Seen   []seenBefore // instruments that were here before and may be this one
	Looked bool         // they were asked for
	Known  string       // identity of the instrument that it is, once that is known
	Denied bool         // it is none of those seen before
	Focus  string       // the field that has the focus
}

// Line is a field of the form, which has the focus when it is its turn.
func (v intakeView) Line(name, label string, traits ...string) fieldView {
	if v.Focus == name {
		traits = append(traits, "first")
	}
	if strings.Contains(v.Form.Value(name), "\n") {
		traits = append(traits, "area")
	}
	return field(v.Form, name, label, traits...)
}

// kindChoice is a template of the catalogue with the joints that can be held.
type kindChoice struct {
	Name, Title string
	Class       string // by which the style sheet shows the joints of the kind that is chosen
	Chosen      bool
	Joints      []jointChoice
}

// jointChoice is a joint to tick.
type jointChoice struct {
	Value, Name string // INSTRUMENT/JOINT, and for people
	Ticked      bool
}

// seenBefore is an instrument that was here before.
type seenBefore struct {
	ID, Title, Detail, Customer, Last string
	Address                           string // of the intake filled in with it
}

// anotherOne is what is sent when the instrument is none of those seen before.
const anotherOne = "another"

func (s *Site) intakePage(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	f := newForm()
	if id := r.FormValue("instrument"); id != "" {
		if err := s.fillIn(r.Context(), shelf, f, id); err != nil {
			s.ticketFault(w, r, err)
			return
		}
	}
	s.renderIntake(w, r, shelf, http.StatusOK, f, intakeView{})
}

// fillIn fills in what is known of an instrument from its last visit.
func (s *Site) fillIn(ctx context.Context, shelf TicketShelf, f *form, id string) error {
	i, err := shelf.Instrument(ctx, id)
	if err != nil {
		return err
	}
	for name, value := range map[string]string{
		"known": i.ID, "instrument": i.Template, "maker": i.Maker, "model": i.Model, "serial": i.Serial,
	} {
		f.values.Set(name, value)
	}
	f.values.Del("seen")
	last, err := lastVisit(ctx, shelf, id)
	if err != nil {
		return err
	}
	if f.Value("customer") == "" || strings.EqualFold(f.Value("customer"), last.Customer.Name) {
		f.values.Set("customer", last.Customer.Name)
		f.values.Set("contact", cmp.Or(f.Value("contact"), last.Customer.Contact))
	}
	return nil
}

// lastVisit is the newest ticket of an instrument; the zero one when it has none.
func lastVisit(ctx context.Context, shelf TicketShelf, instrument string) (ticket.Ticket, error) {
	visits, err := shelf.Tickets(ctx, ledger.TicketFilter{Instrument: instrument, Limit: 1})
	if err != nil || len(visits) == 0 {
		return ticket.Ticket{}, err
	}
	return shelf.Ticket(ctx, visits[0].ID)
}

// jointsOf are the joints of a ticket as INSTRUMENT/JOINT.
func jointsOf(t ticket.Ticket) []string {
	all := make([]string, len(t.Joints))
	for i, joint := range t.Joints {
		all[i] = t.Instrument.Template + "/" + joint
	}
	return all
}

// intake opens a ticket, or goes on to what it takes to open one.
func (s *Site) intake(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	f := sent(r)
	answer := f.Value("seen")
	if answer != "" && answer != anotherOne {
		if err := s.fillIn(r.Context(), shelf, f, answer); err != nil {
			s.ticketFault(w, r, err)
			return
		}
		s.renderIntake(w, r, shelf, http.StatusOK, f, intakeView{})
		return
	}
	looks := f.Has("do", "look")
	if looks || f.Value("known") == "" && answer == "" {
		seen, err := s.lookSeen(r.Context(), shelf, f, looks)
		if err != nil {
			s.ticketFault(w, r, err)
			return
		}
		if looks || len(seen) > 0 {
			s.renderIntake(w, r, shelf, http.StatusOK, f, intakeView{Seen: seen, Looked: true})
			return
		}
	}
	if next := f.goesOn(); next != "" {
		s.renderIntake(w, r, shelf, http.StatusOK, f, intakeView{Focus: next})
		return
	}
	s.open(w, r, shelf, f)
}

// open opens a ticket.
func (s *Site) open(w http.ResponseWriter, r *http.Request, shelf TicketShelf, f *form) {
	t, err := s.ticketTold(r.Context(), shelf, f, ticket.Ticket{})
	if err == nil && !f.Any() {
		t, err = s.desk.KeepTicket(r.Context(), t)
		if err == nil {
			http.Redirect(w, r, "/tickets/"+url.PathEscape(t.ID)+"?new=1", http.StatusSeeOther)
			return
		}
	}
	if err != nil && !f.refuseTicket(err) {
		s.ticketFault(w, r, err)
		return
	}
	s.renderIntake(w, r, shelf, http.StatusUnprocessableEntity, f, intakeView{})
}

// goesOn returns the field that Enter goes on to: the next one that is empty behind the one
// that had the focus and behind all that were filled in. It returns nothing when the ticket
// is to be opened: after the last field, or by the button that says so.
func (f *form) goesOn() string {
	if !f.Has("do", "go") {
		return ""
	}
	if f.Value("instrument") == "" {
		return fieldsInTurn[0]
	}
	at := slices.Index(fieldsInTurn, f.Value("at"))
	for i, name := range fieldsInTurn {
		if f.Value(name) != "" {
			at = max(at, i)
		}
	}
	if at+1 >= len(fieldsInTurn) {
		return ""
	}
	return fieldsInTurn[at+1]
}

// ticketTold lays what a form says over a ticket, and notes in the form what is wrong with it.
func (s *Site) ticketTold(ctx context.Context, shelf TicketShelf, f *form, t ticket.Ticket) (ticket.Ticket, error) {
	templates, err := shelf.Templates(ctx)
	if err != nil {
		return t, err
	}
	if id := f.Value("known"); id != "" {
		if t.Instrument, err = shelf.Instrument(ctx, id); err != nil {
			return t, err
		}
		last, err := lastVisit(ctx, shelf, id)
		if err != nil {
			return t, err
		}
		if strings.EqualFold(last.Customer.Name, f.Value("customer")) {
			t.Customer.ID = last.Customer.ID // else it is somebody else's now
		}
	}
	i := &t.Instrument
	i.Template, i.Maker, i.Model, i.Serial = f.Value("instrument"), f.Value("maker"), f.Value("model"), f.Value("serial")
	t.Customer.Name, t.Customer.Contact = f.Value("customer"), f.Value("contact")
	t.Complaint, t.Condition = f.Value("complaint"), f.Value("condition")
	t.Joints = nil
	k := slices.IndexFunc(templates, func(x catalog.Instrument) bool { return x.Name == i.Template })
	if k < 0 {
		f.fault("instrument", "Choose what kind of instrument it is.")
		return t, nil
	}
	for _, joint := range templates[k].Joints {
		if f.Has("joints", i.Template+"/"+joint.Name) {
			t.Joints = append(t.Joints, joint.Name)
		}
	}
	if len(t.Joints) == 0 {
		f.fault("joints", "Tick at least one joint: each is measured as found and as left.")
	}
	return t, nil
}

// fieldsInTurn are those of the intake, in the order in which they are filled in.
var fieldsInTurn = []string{"instrument", "serial", "maker", "model", "customer", "contact", "complaint", "condition"}

func (s *Site) renderIntake(w http.ResponseWriter, r *http.Request, shelf TicketShelf, status int, f *form, view intakeView) {
	templates, err := shelf.Templates(r.Context())
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	view.Form, view.Kinds = f, kindsOf(templates, f)
	title, back := "New ticket", link{"/tickets", "All tickets"}
	view.Action = cmp.Or(view.Action, "/tickets/new")
	if view.Ticket != "" {
		title, back = "Change "+view.Ticket, link{"/tickets/" + url.PathEscape(view.Ticket), view.Ticket}
	}
	view.Frame = s.frame(r, title, "/tickets", ticketStyle)
	view.Frame.Script = "intake.js"
	view.Frame.Back = &back
	if view.Ticket == "" {
		view.Known, view.Denied = f.Value("known"), f.Value("seen") == anotherOne
	}
	view.Focus = cmp.Or(view.Focus, focusOf(f, view))
	s.renderAs(w, r, status, "ticket-new.html", view)
}

// focusOf is the field that Enter goes on to: the first that is wrong, else the first that
// is empty.
func focusOf(f *form, view intakeView) string {
	if len(view.Seen) > 0 {
		return "seen"
	}
	for _, name := range fieldsInTurn {
		if f.Fault(name) != "" {
			return name
		}
	}
	if f.Value("known") != "" {
		return "complaint"
	}
	return "instrument"
}

// styledKinds are as many kinds as the style sheet shows the joints of one at a time; those
// of further kinds are always shown.
const styledKinds = 24

func kindsOf(templates []catalog.Instrument, f *form) []kindChoice {
	kinds := make([]kindChoice, 0, len(templates))
	for i, t := range templates {
		class := "kind-many"
		if i < styledKinds {
			class = "kind-" + strconv.Itoa(i)
		}
		kind := kindChoice{Name: t.Name, Title: t.Title.Value, Class: class, Chosen: t.Name == f.Value("instrument")}
		told := kind.Chosen && (len(f.All("joints")) > 0 || f.Fault("joints") != "")
		for _, j := range t.Joints {
			value := t.Name + "/" + j.Name
			kind.Joints = append(kind.Joints, jointChoice{value, cmp.Or(j.Title.Value, j.Name), !told || f.Has("joints", value)})
		}
		kinds = append(kinds, kind)
	}
	return kinds
}

// mostSeen is how many instruments are offered at once.
const mostSeen = 8

// lookSeen looks for instruments that were here before and may be the one told of: those of
// just the serial number, else of just the customer; with any, those that have but the words.
func (s *Site) lookSeen(ctx context.Context, shelf TicketShelf, f *form, anyLike bool) ([]seenBefore, error) {
	titles, err := kindTitles(ctx, shelf)
	if err != nil {
		return nil, err
	}
	kind := f.Value("instrument")
	for _, by := range []struct {
		word string
		of   func(ledger.InstrumentEntry) string
	}{
		{f.Value("serial"), func(e ledger.InstrumentEntry) string { return e.Serial }},
		{f.Value("customer"), func(e ledger.InstrumentEntry) string { return e.Customer.Name }},
	} {
		if by.word == "" {
			continue
		}
		entries, err := shelf.Instruments(ctx, ledger.InstrumentFilter{Search: by.word, Limit: mostSeen})
		if err != nil {
			return nil, err
		}
		var seen []seenBefore
		for _, e := range entries {
			if anyLike || strings.EqualFold(by.of(e), by.word) && (kind == "" || kind == e.Template) {
				seen = append(seen, s.seenOf(e, titles))
			}
		}
		if len(seen) > 0 || !anyLike {
			return seen, nil // who tells a serial number tells which instrument it is
		}
	}
	return nil, nil
}

func (s *Site) seenOf(e ledger.InstrumentEntry, titles map[string]string) seenBefore {
	return seenBefore{
		ID: e.ID, Title: kindTitle(titles, e.Template), Detail: makeOf(e.Instrument), Customer: e.Customer.Name, Last: s.shown().day(e.Opened),
		Address: listAddress("/tickets/new", "instrument", e.ID),
	}
}
