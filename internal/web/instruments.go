package web

import (
	"cmp"
	"html/template"
	"net/http"
	"net/url"
	"strings"

	"boretight/internal/ledger"
)

// instrumentsView is the page that lists instruments.
type instrumentsView struct {
	Frame         frame
	Search        ticketSearch
	Instruments   []instrumentsRow
	Asked         bool
	Newest, Older string
}

// instrumentsRow is an instrument in the list.
type instrumentsRow struct {
	Path, Title, Detail, Customer, Last, Stamp, Visits string
}

func (s *Site) instrumentsPage(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	f := &form{values: r.URL.Query()}
	asked := ledger.InstrumentFilter{Limit: ticketListLength + 1, Before: f.Value("before"), Search: f.Value("words")}
	entries, err := shelf.Instruments(r.Context(), asked)
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	titles, err := kindTitles(r.Context(), shelf)
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	view := instrumentsView{Frame: s.frame(r, "Instruments", "/instruments", ticketStyle), Search: ticketSearch{"/instruments", asked.Search, "Serial, maker, model, customer", false}, Asked: asked.Search != ""}
	if asked.Before != "" {
		view.Newest = listAddress("/instruments", "words", asked.Search)
	}
	if len(entries) > ticketListLength {
		entries = entries[:ticketListLength]
		view.Older = listAddress("/instruments", "words", asked.Search, "before", entries[ticketListLength-1].ID)
	}
	for _, e := range entries {
		view.Instruments = append(view.Instruments, instrumentsRow{
			Path: "/instruments/" + url.PathEscape(e.ID), Title: kindTitle(titles, e.Template), Detail: makeOf(e.Instrument),
			Customer: e.Customer.Name, Last: s.shown().day(e.Opened), Stamp: e.Opened.UTC().Format(stampOfDay), Visits: counting(e.Visits, "visit"),
		})
	}
	s.render(w, r, "instruments.html", view)
}

// visitsPageView is the page of one instrument: its visits, and what its joints leaked
// over the years.
type visitsPageView struct {
	Frame         frame
	Title, Detail string
	NewTicket     string // address of the intake filled in; empty when there is no desk
	Visits        []visitView
	Joints        []jointHistory
	Rules         []string
	Newest, Older string
}

// visitView is a visit of an instrument.
type visitView struct {
	ticketRow
	Complaint string
}

// jointHistory is what a joint leaked over the visits, newest first.
type jointHistory struct {
	Name   string
	Title  string        // for people
	Trend  template.HTML // empty where there is no course to draw
	Drawn  string        // how what is drawn was held
	Points []historyPoint
}

// historyPoint is one trial in a joint's history.
type historyPoint struct {
	record             TrialRecord
	Ticket, When, What string
	Side               *ticketTrial
	Stamp              string
}

// visitsShown is how many visits a page of an instrument reaches back.
const visitsShown = 20

func (s *Site) visitsPage(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	id := r.PathValue("id")
	i, err := shelf.Instrument(r.Context(), id)
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	before := r.FormValue("before")
	visits, err := shelf.Tickets(r.Context(), ledger.TicketFilter{Instrument: id, Before: before, Limit: visitsShown + 1})
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	templates, err := shelf.Templates(r.Context())
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	of := templateOf(templates, i.Template)
	path := "/instruments/" + url.PathEscape(id)
	view := visitsPageView{Title: cmp.Or(of.Title.Value, i.Template), Detail: makeOf(i)}
	view.Frame = s.frame(r, strings.Join(present(view.Title, view.Detail), " "), "/instruments", "plot.css", "records.css", ticketStyle)
	view.Frame.Back = &link{"/instruments", "All instruments"}
	if s.desk != nil {
		view.NewTicket = listAddress("/tickets/new", "instrument", id)
	}
	if before != "" {
		view.Newest = path
	}
	if len(visits) > visitsShown {
		visits = visits[:visitsShown]
		view.Older = listAddress(path, "before", visits[visitsShown-1].ID)
	}
	history := newHistory(s, of)
	for _, e := range visits {
		t, err := shelf.Ticket(r.Context(), e.ID)
		if err != nil {
			s.ticketFault(w, r, err)
			return
		}
		row := s.ticketRow(e, map[string]string{i.Template: view.Title})
		view.Visits = append(view.Visits, visitView{row, t.Complaint})
		trials, err := shelf.TrialsOf(r.Context(), e.ID)
		if err != nil {
			s.ticketFault(w, r, err)
			return
		}
		history.add(t, trials)
	}
	view.Joints, view.Rules = history.inTurn(), history.rules
	s.render(w, r, "instrument.html", view)
}
