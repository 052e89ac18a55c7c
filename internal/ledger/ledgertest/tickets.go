package ledgertest

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
	"boretight/internal/trial"
)

// Visit returns a new ticket with all fields filled that a customer's visit begins with.
func Visit() ticket.Ticket {
	return ticket.Ticket{
		Instrument: ticket.Instrument{Template: "oboe", Maker: "Marsh & Daughters", Model: "Fen 2", Serial: "AB-1187"},
		Joints:     []string{"upper", "lower"},
		Customer:   ticket.Customer{Name: "Ada Quill", Contact: "12 Mill Lane"},
		Complaint:  "low notes do not speak", Condition: "crack in the upper joint",
	}
}

func keep(t *testing.T, s ledger.Store, v ticket.Ticket) ticket.Ticket {
	t.Helper()
	kept, err := s.KeepTicket(t.Context(), v)
	require.NoError(t, err)
	return kept
}

func keptTickets(t *testing.T, s ledger.Store) {
	kept := keep(t, s, Visit())
	assert.Equal(t, "T-1001", kept.ID)
	assert.NotEmpty(t, kept.Instrument.ID)
	assert.NotEmpty(t, kept.Customer.ID)
	assert.WithinDuration(t, time.Now(), kept.Opened, time.Minute)
	want := Visit()
	want.ID, want.Opened, want.Instrument.ID, want.Customer.ID = kept.ID, kept.Opened, kept.Instrument.ID, kept.Customer.ID
	assert.Equal(t, want, kept)

	got, err := s.Ticket(t.Context(), kept.ID)
	require.NoError(t, err)
	assert.Equal(t, kept, got)
	i, err := s.Instrument(t.Context(), kept.Instrument.ID)
	require.NoError(t, err)
	assert.Equal(t, kept.Instrument, i)
	_, err = s.Ticket(t.Context(), "T-1002")
	assert.ErrorIs(t, err, ledger.ErrNotFound)
	_, err = s.Instrument(t.Context(), kept.ID)
	assert.ErrorIs(t, err, ledger.ErrNotFound)

	assert.Equal(t, "T-1002", keep(t, s, Visit()).ID)
}

func refusedTickets(t *testing.T, s ledger.Store) {
	_, err := s.KeepTicket(t.Context(), ticket.Ticket{})
	faults := ticket.Faults(err)
	require.Len(t, faults, 2)
	assert.Equal(t, "instrument", faults[0].Field)
	v := Visit()
	v.ID = "T-1001"
	_, err = s.KeepTicket(t.Context(), v)
	assert.ErrorIs(t, err, ledger.ErrNotFound, "a number is given, not taken")
	v = Visit()
	v.Instrument.ID = ledger.NewID()
	_, err = s.KeepTicket(t.Context(), v)
	assert.ErrorIs(t, err, ledger.ErrNotFound)
	v = Visit()
	v.Customer.ID = ledger.NewID()
	_, err = s.KeepTicket(t.Context(), v)
	assert.ErrorIs(t, err, ledger.ErrNotFound)
	_, err = s.AddWork(t.Context(), "T-1001", ticket.Work{Did: "oiled"})
	assert.ErrorIs(t, err, ledger.ErrNotFound)
	n, err := s.Count(t.Context())
	require.NoError(t, err)
	assert.EqualValues(t, 1, n, "what was refused leaves nothing behind")
}

// ticketRecords are the contents of a ticket's records as far as they name texts.
func ticketRecords(t *testing.T, s ledger.Store, id string) (found []ledger.TicketRecord) {
	t.Helper()
	records, err := s.About(t.Context(), id)
	require.NoError(t, err)
	for _, r := range records {
		if r.Kind == ledger.TicketKept {
			found = append(found, Content[ledger.TicketRecord](t, r))
		}
	}
	return found
}

func changedTickets(t *testing.T, s ledger.Store) {
	v := keep(t, s, Visit())
	v.Complaint = "nothing speaks"
	v.Instrument.Serial = "AB-1188"
	v.Opened = time.Time{}
	changed := keep(t, s, v)
	assert.Equal(t, "nothing speaks", changed.Complaint)
	assert.False(t, changed.Opened.IsZero(), "it stays as it was")
	records := ticketRecords(t, s, v.ID)
	require.Len(t, records, 2)
	assert.Equal(t, records[0].Condition, records[1].Condition, "a text that did not change keeps its reference")
	assert.NotEqual(t, records[0].Complaint, records[1].Complaint)
	assert.Equal(t, records[0].Opened, records[1].Opened)
	customers, err := s.Records(t.Context(), ledger.CustomerKept)
	require.NoError(t, err)
	assert.Len(t, customers, 1, "the customer did not change")
	i, err := s.Instrument(t.Context(), v.Instrument.ID)
	require.NoError(t, err)
	assert.Equal(t, "AB-1188", i.Serial)

	changed.Customer.Contact = "4 Reed Street"
	keep(t, s, changed)
	customers, err = s.Records(t.Context(), ledger.CustomerKept)
	require.NoError(t, err)
	require.Len(t, customers, 2)
	before, after := Content[ledger.CustomerRecord](t, customers[0]), Content[ledger.CustomerRecord](t, customers[1])
	assert.Equal(t, before.Name, after.Name)
	assert.NotEqual(t, before.Contact, after.Contact)

	closing := changed
	closing.Closed, closing.Remark = changed.Opened.Add(time.Hour), "plays again"
	closed := keep(t, s, closing)
	assert.False(t, closed.Open())
	assert.Equal(t, closing, closed)
	closed.Closed = time.Time{}
	assert.True(t, keep(t, s, closed).Open(), "it can be opened again")
}

func comesAgain(t *testing.T, s ledger.Store) {
	first := keep(t, s, Visit())
	again := keep(t, s, ticket.Ticket{Instrument: ticket.Instrument{ID: first.Instrument.ID}, Joints: []string{"upper"},
		Customer: ticket.Customer{ID: first.Customer.ID}})
	assert.Equal(t, "T-1002", again.ID)
	assert.Equal(t, first.Instrument, again.Instrument)
	assert.Equal(t, first.Customer, again.Customer)

	got, err := s.Instruments(t.Context(), ledger.InstrumentFilter{})
	require.NoError(t, err)
	assert.Equal(t, []ledger.InstrumentEntry{{Instrument: first.Instrument, Visits: 2, Last: "T-1002", Opened: again.Opened, Customer: first.Customer}}, got)
}

func instrumentKnownBetter(t *testing.T, s ledger.Store) {
	first := keep(t, s, Visit())
	again := Visit()
	again.Instrument, again.Customer = first.Instrument, ticket.Customer{ID: first.Customer.ID}
	again.Instrument.Serial = "AB-1188"
	again = keep(t, s, again)
	first.Remark = "the bill was sent"
	first = keep(t, s, first)
	assert.Equal(t, again.Instrument, first.Instrument, "what the later visit told stays")
	i, err := s.Instrument(t.Context(), first.Instrument.ID)
	require.NoError(t, err)
	assert.Equal(t, "AB-1188", i.Serial)
	first.Instrument.Serial = "AB-1189"
	assert.Equal(t, "AB-1189", keep(t, s, first).Instrument.Serial, "unless it is changed there")
}

func numbers(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	for _, label := range []string{"T-1005", "T-99x", "T-", "T-123456789012345678", "S-2000", "t-3000"} {
		b := Begin("north")
		b.Ticket = label
		Write(t, w, b, 3, Outcome(trial.Pass, 1))
	}
	assert.Equal(t, "T-1006", keep(t, s, Visit()).ID, "the label of a hold is never taken over")
	_, err := s.Append(t.Context(), ledger.Trial{ID: ledger.NewID(), Ticket: "T-1010"}.Draft())
	require.NoError(t, err)
	assert.Equal(t, "T-1011", keep(t, s, Visit()).ID, "nor is that of a trial")

	var all sync.WaitGroup
	given := make([]string, 8)
	for i := range given {
		all.Go(func() {
			kept, err := s.KeepTicket(t.Context(), Visit())
			assert.NoError(t, err)
			given[i] = kept.ID
		})
	}
	all.Wait()
	assert.ElementsMatch(t, []string{"T-1012", "T-1013", "T-1014", "T-1015", "T-1016", "T-1017", "T-1018", "T-1019"}, given)
}

func workDone(t *testing.T, s ledger.Store) {
	v := keep(t, s, Visit())
	later := ticket.Work{At: v.Opened.Add(2 * time.Hour), Joint: "upper", Seat: "G#", Did: "floated the pad"}
	later, err := s.AddWork(t.Context(), v.ID, later)
	require.NoError(t, err)
	sooner, err := s.AddWork(t.Context(), v.ID, ticket.Work{Did: "oiled the bore"})
	require.NoError(t, err)
	assert.False(t, sooner.At.IsZero())
	_, err = s.AddWork(t.Context(), v.ID, ticket.Work{})
	require.Len(t, ticket.Faults(err), 1)

	got, err := s.Ticket(t.Context(), v.ID)
	require.NoError(t, err)
	assert.Equal(t, []ticket.Work{sooner, later}, got.Work, "oldest first")
	assert.Equal(t, got, keep(t, s, got), "the work stays when the ticket is recorded again")
}
