package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strings"

	"boretight/internal/catalog"
	"boretight/internal/ledger"
	"boretight/internal/ticket"
	"boretight/internal/trial"
)

// TicketShelf is what pages read of tickets and instruments. A [Ledger] that is one too is
// used as one.
type TicketShelf interface {
	// Ticket returns a whole ticket, or [ErrNoTicket].
	Ticket(ctx context.Context, id string) (ticket.Ticket, error)
	// Tickets lists tickets, newest first.
	Tickets(ctx context.Context, f ledger.TicketFilter) ([]ledger.TicketEntry, error)
	// Instrument returns an instrument that was here, or [ErrNoInstrument].
	Instrument(ctx context.Context, id string) (ticket.Instrument, error)
	// Instruments lists instruments, the one that was here last first.
	Instruments(ctx context.Context, f ledger.InstrumentFilter) ([]ledger.InstrumentEntry, error)
	// TrialsOf returns the trials of a ticket as they count now, the last changed first.
	TrialsOf(ctx context.Context, ticket string) ([]TrialRecord, error)
	// Improved sets a trial as found against one as left: [trial.ErrNoRate], [trial.ErrUnlike].
	Improved(ctx context.Context, found, left ledger.Trial) (trial.Comparison, error)
	// Templates returns the instruments of the catalogue, with the shop's own.
	Templates(ctx context.Context) ([]catalog.Instrument, error)
}

// TicketDesk is what pages may change of tickets. A refused ticket holds a [*Fault] for
// each field that is wrong, named instrument, maker, model, serial, joints, customer,
// contact, complaint, condition, remark; of refused work joint, seat or did.
type TicketDesk interface {
	// KeepTicket opens a ticket without an ID, else records its change, and returns it.
	KeepTicket(ctx context.Context, t ticket.Ticket) (ticket.Ticket, error)
	// AddWork adds to what was done in a visit.
	AddWork(ctx context.Context, id string, w ticket.Work) (ticket.Work, error)
}

// ErrNoInstrument is returned when no such instrument was ever here.
var ErrNoInstrument = errors.New("no such instrument")

// ticketStyle is the style sheet of these pages.
const ticketStyle = "tickets.css"

// ticketRoutes registers the pages of tickets and of instruments.
func (s *Site) ticketRoutes(mux *http.ServeMux) {
	looks := map[string]ticketHandler{
		"GET /tickets":          s.ticketList,
		"GET /tickets/{id}":     s.ticketPage,
		"GET /instruments":      s.instrumentsPage,
		"GET /instruments/{id}": s.visitsPage,
	}
	for path, page := range looks {
		mux.HandleFunc(path, s.withTickets(page))
	}
	changes := map[string]ticketHandler{
		"GET /tickets/new":          s.intakePage,
		"POST /tickets/new":         s.intake,
		"GET /tickets/{id}/edit":    s.editPage,
		"POST /tickets/{id}/edit":   s.edit,
		"POST /tickets/{id}/work":   s.addWork,
		"POST /tickets/{id}/close":  s.closeTicket,
		"POST /tickets/{id}/reopen": s.reopenTicket,
		"POST /tickets/{id}/bench":  s.layTicket,
	}
	for path, page := range changes {
		mux.HandleFunc(path, s.onlyLooks(s.withTickets(page)))
	}
}

// ticketHandler answers with what the shelf has of tickets.
type ticketHandler func(w http.ResponseWriter, r *http.Request, shelf TicketShelf)

// withTickets gives a page the shelf, or says that there is none.
func (s *Site) withTickets(page ticketHandler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		shelf, ok := s.ledger.(TicketShelf)
		if !ok {
			s.noTicket(w, r, "There is no ledger to read.", "The program was started without one, so no ticket can be seen or opened.")
			return
		}
		page(w, r, shelf)
	}
}

// ticketGoneView is the page of a ticket or an instrument that is not there.
type ticketGoneView struct {
	Frame     frame
	What, Why string
}

// noTicket answers for what is not there.
func (s *Site) noTicket(w http.ResponseWriter, r *http.Request, what, why string) {
	view := ticketGoneView{s.frame(r, strings.TrimSuffix(what, "."), "/tickets", ticketStyle), what, why}
	view.Frame.Back = &link{"/tickets", "All tickets"}
	s.renderAs(w, r, http.StatusNotFound, "ticket-gone.html", view)
}

// ticketFault answers for an error of the shelf or the desk.
func (s *Site) ticketFault(w http.ResponseWriter, r *http.Request, err error) {
	switch {
	case errors.Is(err, ErrNoTicket):
		s.noTicket(w, r, "There is no such ticket.", "No ticket of that number was opened here. Look whether the number is right, or search for the instrument or the customer.")
	case errors.Is(err, ErrNoInstrument):
		s.noTicket(w, r, "There is no such instrument.", "The address may have been cut short, or it is of another ledger. Search for the serial number or the customer.")
	default:
		s.fault(w, r, err)
	}
}

// ticketListLength is how many tickets or instruments a page lists.
const ticketListLength = 40

// ticketListView is the page that lists tickets.
type ticketListView struct {
	Frame         frame
	Search        ticketSearch
	Tabs          []ticketTab
	Tickets       []ticketRow
	Asked         bool // by words
	Open          bool // only open ones
	MayOpen       bool // tickets
	Newest, Older string
}

// ticketSearch is the form that searches a list.
type ticketSearch struct {
	Path, Words, Hint string
	All               bool // closed tickets too
}

// ticketTab is one of the two lists: open ones, or all.
type ticketTab struct {
	link
	Here bool
}

// ticketRow is a ticket in a list.
type ticketRow struct {
	ID, Title, Detail, Customer string
	Joints                      []string
	Opened, Closed              string
	Stamp                       string
}

func (s *Site) ticketList(w http.ResponseWriter, r *http.Request, shelf TicketShelf) {
	f := &form{values: r.URL.Query()}
	asked := ledger.TicketFilter{
		Limit: ticketListLength + 1, Before: f.Value("before"), Search: f.Value("words"), Open: f.Value("of") != "all",
	}
	entries, err := shelf.Tickets(r.Context(), asked)
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	titles, err := kindTitles(r.Context(), shelf)
	if err != nil {
		s.ticketFault(w, r, err)
		return
	}
	of := map[bool]string{true: "", false: "all"}
	view := ticketListView{Search: ticketSearch{"/tickets", asked.Search, "Number, serial, maker, customer", !asked.Open}, Asked: asked.Search != "", Open: asked.Open, MayOpen: s.desk != nil}
	view.Frame = s.frame(r, "Tickets", "/tickets", ticketStyle)
	view.Tabs = []ticketTab{
		{link{listAddress("/tickets", "words", asked.Search), "Open"}, asked.Open},
		{link{listAddress("/tickets", "words", asked.Search, "of", "all"), "All"}, !asked.Open},
	}
	if asked.Before != "" {
		view.Newest = listAddress("/tickets", "words", asked.Search, "of", of[asked.Open])
	}
	if len(entries) > ticketListLength {
		entries = entries[:ticketListLength]
		view.Older = listAddress("/tickets", "words", asked.Search, "of", of[asked.Open], "before", entries[ticketListLength-1].ID)
	}
	for _, e := range entries {
		view.Tickets = append(view.Tickets, s.ticketRow(e, titles))
	}
	s.render(w, r, "tickets.html", view)
}

func (s *Site) ticketRow(e ledger.TicketEntry, titles map[string]string) ticketRow {
	u := s.shown()
	return ticketRow{
		ID: e.ID, Title: kindTitle(titles, e.Instrument.Template), Detail: makeOf(e.Instrument), Customer: e.Customer, Joints: e.Joints,
		Opened: u.day(e.Opened), Closed: u.day(e.Closed), Stamp: e.Opened.UTC().Format("2006-01-02"),
	}
}

// kindTitles are the catalogue's names for people, by template.
func kindTitles(ctx context.Context, shelf TicketShelf) (map[string]string, error) {
	templates, err := shelf.Templates(ctx)
	if err != nil {
		return nil, err
	}
	titles := make(map[string]string, len(templates))
	for _, t := range templates {
		titles[t.Name] = t.Title.Value
	}
	return titles, nil
}

// kindTitle names a kind of instrument; one that the catalogue has lost keeps its name.
func kindTitle(titles map[string]string, template string) string {
	if title := titles[template]; title != "" {
		return title
	}
	return template
}

// makeOf says which instrument it is: maker, model and serial number.
func makeOf(i ticket.Instrument) string {
	parts := present(i.Maker, i.Model)
	if i.Serial != "" {
		parts = append(parts, "no. "+i.Serial)
	}
	return strings.Join(parts, " ")
}

// listAddress is a page with what is asked of it; pairs of names and values, of which the
// empty ones are left out.
func listAddress(path string, pairs ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			q.Set(pairs[i], pairs[i+1])
		}
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}
