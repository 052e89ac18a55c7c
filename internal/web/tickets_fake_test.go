package web_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"boretight/internal/catalog"
	"boretight/internal/decay"
	"boretight/internal/ledger"
	"boretight/internal/ticket"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// fakeShelf is a ledger with tickets in memory, and the desk that changes them.
type fakeShelf struct {
	web.Ledger
	web.Desk

	t       *testing.T
	tickets []ticket.Ticket // oldest first
	trials  []web.TrialRecord
	refusal error // of all changes
	put     web.Put
	gauge   string
}

func (s *fakeShelf) Ticket(_ context.Context, id string) (ticket.Ticket, error) {
	k := slices.IndexFunc(s.tickets, func(t ticket.Ticket) bool { return t.ID == id })
	if k < 0 {
		return ticket.Ticket{}, fmt.Errorf("%w: %s", web.ErrNoTicket, id)
	}
	return s.tickets[k], nil
}

func (s *fakeShelf) Tickets(_ context.Context, f ledger.TicketFilter) ([]ledger.TicketEntry, error) {
	var all []ledger.TicketEntry
	for _, t := range slices.Backward(s.tickets) {
		text := strings.ToLower(strings.Join([]string{t.ID, t.Instrument.Serial, t.Instrument.Maker, t.Customer.Name}, " "))
		if f.Open && !t.Open() || f.Instrument != "" && t.Instrument.ID != f.Instrument || !strings.Contains(text, strings.ToLower(f.Search)) {
			continue
		}
		if f.Before != "" && t.ID >= f.Before {
			continue
		}
		all = append(all, entryOf(t))
	}
	if f.Limit > 0 {
		all = all[:min(len(all), f.Limit)]
	}
	return all, nil
}

func entryOf(t ticket.Ticket) ledger.TicketEntry {
	return ledger.TicketEntry{ID: t.ID, Opened: t.Opened, Closed: t.Closed, Instrument: t.Instrument, Customer: t.Customer.Name, Joints: t.Joints}
}

func (s *fakeShelf) Instrument(_ context.Context, id string) (ticket.Instrument, error) {
	for _, t := range s.tickets {
		if t.Instrument.ID == id {
			return t.Instrument, nil
		}
	}
	return ticket.Instrument{}, fmt.Errorf("%w: %s", web.ErrNoInstrument, id)
}

func (s *fakeShelf) Instruments(_ context.Context, f ledger.InstrumentFilter) ([]ledger.InstrumentEntry, error) {
	var all []ledger.InstrumentEntry
	for _, t := range slices.Backward(s.tickets) {
		text := strings.ToLower(strings.Join([]string{t.Instrument.Serial, t.Instrument.Maker, t.Customer.Name}, " "))
		seen := slices.ContainsFunc(all, func(e ledger.InstrumentEntry) bool { return e.ID == t.Instrument.ID })
		if seen || !strings.Contains(text, strings.ToLower(f.Search)) {
			continue
		}
		all = append(all, ledger.InstrumentEntry{Instrument: t.Instrument, Customer: t.Customer, Last: t.ID, Opened: t.Opened, Visits: 1})
	}
	return all, nil
}

func (s *fakeShelf) TrialsOf(_ context.Context, id string) ([]web.TrialRecord, error) {
	var all []web.TrialRecord
	for _, e := range slices.Backward(s.trials) {
		if e.Ticket == id {
			all = append(all, e)
		}
	}
	return all, nil
}

func (s *fakeShelf) Improved(_ context.Context, found, left ledger.Trial) (trial.Comparison, error) {
	return trial.Compare(found.Result, left.Result, trial.SameBench())
}

func (s *fakeShelf) Templates(context.Context) ([]catalog.Instrument, error) {
	known, err := catalog.Templates()
	return known.Instruments(), err
}

func (s *fakeShelf) KeepTicket(_ context.Context, t ticket.Ticket) (ticket.Ticket, error) {
	if s.refusal != nil {
		return t, s.refusal
	}
	if t.Instrument.ID == "" {
		t.Instrument.ID = fmt.Sprintf("i%d", len(s.tickets)+1)
	}
	if t.ID != "" {
		k := slices.IndexFunc(s.tickets, func(other ticket.Ticket) bool { return t.ID == other.ID })
		s.tickets[k] = t
		return t, nil
	}
	t.ID = fmt.Sprintf("T-%d", 1001+len(s.tickets))
	t.Opened = time.Date(2026, 3, 2+len(s.tickets), 9, 30, 0, 0, time.UTC)
	s.tickets = append(s.tickets, t)
	return t, nil
}

func (s *fakeShelf) AddWork(ctx context.Context, id string, w ticket.Work) (ticket.Work, error) {
	if s.refusal != nil {
		return w, s.refusal
	}
	t, err := s.Ticket(ctx, id)
	if err != nil {
		return w, err
	}
	w.At = t.Opened.Add(time.Hour)
	t.Work = append(t.Work, w)
	_, err = s.KeepTicket(ctx, t)
	return w, err
}

func (s *fakeShelf) Put(_ context.Context, gauge string, p web.Put) error {
	if s.refusal != nil {
		return s.refusal
	}
	s.gauge, s.put = gauge, p
	return nil
}

// measured adds a trial of three holds to a ticket.
func (s *fakeShelf) measured(id, joint, when string, rate, u float64, verdict trial.Verdict) {
	t, err := s.Ticket(s.t.Context(), id)
	require.NoError(s.t, err)
	e := decay.Estimate{Value: rate, U: u, Low: rate - 2*u, High: rate + 2*u}
	si := decay.Estimate{Value: rate * sccm, U: u * sccm, Low: e.Low * sccm, High: e.High * sccm}
	name := fmt.Sprintf("trial%d", len(s.trials)+1)
	s.trials = append(s.trials, web.TrialRecord{TrialEntry: ledger.TrialEntry{At: t.Opened.Add(time.Hour), Trial: ledger.Trial{
		ID: name, Holds: []string{"h1", "h2", "h3"}, Instrument: t.Instrument.Template, Joint: joint, Of: t.Instrument.Template + "/" + joint,
		Closure: "all keys closed", When: when, Ticket: id,
		Result: trial.Trial{
			ID: name, Holds: 3, Used: 3, Joint: t.Instrument.Template + "/" + joint, Closure: "all keys closed", Sign: "suction", At: 2500,
			LeakRate: &trial.LeakRate{Unit: "Pa·m³/s", Estimate: si, Coverage: 0.95}, SCCM: &e, Verdict: verdict,
			Decision: &trial.Decision{Limit: fakeLimit * sccm, LimitSCCM: fakeLimit, Rule: fakeRule, PConform: map[bool]float64{true: 0.9999, false: 0.0001}[verdict == trial.Pass]},
		},
	}}})
}

// visits fills a shelf with a made-up shop's tickets.
func newShelf(t *testing.T) *fakeShelf {
	s := &fakeShelf{t: t}
	for _, visit := range []ticket.Ticket{
		{
			Instrument: ticket.Instrument{ID: "i1", Template: "oboe", Maker: "Hallwell", Model: "Conservatoire", Serial: "HW 2214"},
			Joints:     []string{"upper", "lower"}, Customer: ticket.Customer{Name: "Ada Fenwick", Contact: "0555 0101"},
			Complaint: "Low notes come late, the C sharp not at all when cold.", Condition: "Old skin pads, cracked adhesive at the G sharp; tenon cork dry.",
		},
		{
			Instrument: ticket.Instrument{ID: "i2", Template: "clarinet", Maker: "Ostrava & Sons", Model: "Student", Serial: "71-0093"},
			Joints:     []string{"upper"}, Customer: ticket.Customer{Name: "Marsh Road School"}, Complaint: "Squeaks over the break.",
		},
		{
			Instrument: ticket.Instrument{ID: "i3", Template: "flute", Maker: "Pellworm", Serial: "10442"},
			Joints:     []string{"body"}, Customer: ticket.Customer{Name: "Joan Tiller", Contact: "joan@tiller.example"},
		},
	} {
		_, err := s.KeepTicket(t.Context(), visit)
		require.NoError(t, err)
	}
	return s
}

// ticketSite is a site with these tickets.
func ticketSite(t *testing.T, s *fakeShelf) *web.Site {
	t.Helper()
	site, err := web.New(web.Options{Bench: newFake(), Ledger: s, Desk: s, Version: "test", House: func() web.House { return web.House{Location: time.UTC} }})
	require.NoError(t, err)
	return site
}
