package ledger

import (
	"context"
	"time"

	"boretight/internal/ticket"
)

// Store is a ledger as its readers and its writers see it. Methods may be called
// from any goroutine. Times given back are UTC in whole microseconds.
type Store interface {
	Sink

	// Append appends one record and returns it when it is on the disk.
	Append(ctx context.Context, d Draft) (Record, error)
	// Erase removes a text for good; its record stays. ErrNotFound if there is none.
	Erase(ctx context.Context, textID string) error
	// EraseCustomer removes name and contact of a customer for good, as they are and as they
	// ever were; the tickets stay. ErrNotFound if there is nothing to erase.
	EraseCustomer(ctx context.Context, customerID string) error

	// KeepTicket records a ticket and returns it as kept. Without an ID it is new: it gets the
	// next number, Opened if that is zero, and new identities for instrument and customer where
	// theirs are empty. An instrument or customer of which nothing but the ID is given stays as
	// it was. With an ID the ticket is recorded again as it is from now on; ErrNotFound if there
	// is none, ErrClock if the change would not count. Where it leaves the instrument as it
	// was, what a later visit told of that stays. Work is not looked at. What cannot be kept
	// wraps [ticket.Fault] errors.
	KeepTicket(ctx context.Context, t ticket.Ticket) (ticket.Ticket, error)
	// AddWork records work done in a visit and returns it with its ID, and At if that was zero.
	AddWork(ctx context.Context, ticketID string, w ticket.Work) (ticket.Work, error)
	// Ticket returns a whole ticket, or ErrNotFound. Texts that were erased are empty.
	Ticket(ctx context.Context, id string) (ticket.Ticket, error)
	// Tickets lists tickets, those opened last first.
	Tickets(ctx context.Context, f TicketFilter) ([]TicketEntry, error)
	// Instrument returns an instrument as its newest ticket tells it, or ErrNotFound.
	Instrument(ctx context.Context, id string) (ticket.Instrument, error)
	// Instruments lists instruments, those last told of first.
	Instruments(ctx context.Context, f InstrumentFilter) ([]InstrumentEntry, error)
	// HoldCounts returns the number of holds of each of the tickets that has any.
	HoldCounts(ctx context.Context, tickets []string) (map[string]int, error)
	// Trend returns the trials of an instrument over all its tickets as they are now, oldest first.
	Trend(ctx context.Context, instrumentID string) ([]TrendPoint, error)

	// Hold returns a hold with its readings, or ErrNotFound.
	Hold(ctx context.Context, id string) (*Hold, error)
	// Holds lists holds, newest first.
	Holds(ctx context.Context, f Filter) ([]Entry, error)
	// Trials lists trials as they are now, each once, those that last changed first.
	Trials(ctx context.Context, f Filter) ([]TrialEntry, error)
	// FindHold returns the identity of the hold that begins with a prefix, and
	// FindTrial the trial: ErrNotFound when there is none, ErrAmbiguous when there are several.
	FindHold(ctx context.Context, prefix string) (string, error)
	FindTrial(ctx context.Context, prefix string) (TrialEntry, error)
	// Voided returns which of the holds were set aside.
	Voided(ctx context.Context, holds []string) ([]string, error)
	// About returns the records that concern an identity, in the order of (UTC, chain, n).
	About(ctx context.Context, id string) ([]Record, error)
	// AboutEach returns for each identity what About returns: a list is read at once.
	AboutEach(ctx context.Context, ids []string) (map[string][]Record, error)
	// Records returns the records of one kind, in the order of (UTC, chain, n).
	Records(ctx context.Context, kind RecordKind) ([]Record, error)
	// Newest returns the newest record of a kind that concerns an identity, or ErrNotFound.
	Newest(ctx context.Context, kind RecordKind, about string) (Record, error)
	// Text returns a text, or ErrNotFound when it was erased or never was.
	Text(ctx context.Context, id string) (Text, error)
	// Count returns the number of records.
	Count(ctx context.Context) (int64, error)

	// Check audits the whole ledger and appends nothing.
	Check(ctx context.Context) (Report, error)
	// Copy writes one consistent file, which must not exist yet.
	Copy(ctx context.Context, dst string) error
	// Close folds in the journal; only the ledger's file remains.
	Close() error
}

// Filter chooses what a list shows. The zero Filter is the newest 100 of all.
type Filter struct {
	// Limit is the most entries wanted; 0 means 100.
	Limit int
	// Before is the identity of the last entry of the page before; empty for the first page.
	Before string
	// Each of these, if not empty, must match. Gauge is for holds alone.
	Ticket, Instrument, Joint, Section, When, Gauge, Verdict string
	// InstrumentID, if not empty, is the identity of an instrument; its tickets' are shown.
	InstrumentID string
	// Search are words that must all begin a word of instrument, joint, section, occasion,
	// verdict or ticket, or be found in the ticket as in a [TicketFilter]. Upper and lower case
	// are alike.
	Search string
}

// Of returns INSTRUMENT/JOINT when the filter asks for both, else nothing.
func (f Filter) Of() string {
	if f.Instrument == "" || f.Joint == "" {
		return ""
	}
	return f.Instrument + "/" + f.Joint
}

// Entry is a hold in a list.
type Entry struct {
	ID      string    `json:"id"`
	Started time.Time `json:"started"`
	// Ended is zero while the hold is open.
	Ended      time.Time `json:"ended,omitzero"`
	Gauge      string    `json:"gauge"`
	Bench      string    `json:"bench,omitempty"`
	Instrument string    `json:"instrument,omitempty"`
	Joint      string    `json:"joint,omitempty"`
	Section    string    `json:"section,omitempty"`
	Closure    string    `json:"closure,omitempty"`
	When       string    `json:"when,omitempty"`
	Ticket     string    `json:"ticket,omitempty"`
	Sign       string    `json:"sign,omitempty"`
	Verdict    string    `json:"verdict,omitempty"`
	// LeakRate and U are in Pa·m³/s, SCCM and USCCM in cm³/min at 0 °C; nil when
	// no leakage rate was given.
	LeakRate    *float64 `json:"leak_rate_pa_m3_s"`
	U           *float64 `json:"u_pa_m3_s"`
	SCCM        *float64 `json:"leak_rate_sccm"`
	USCCM       *float64 `json:"u_sccm"`
	Readings    int64    `json:"readings"`
	Lost        int64    `json:"lost,omitempty"`
	Interrupted bool     `json:"interrupted,omitempty"`
	Voided      bool     `json:"voided,omitempty"`
}

// TrialEntry is a trial in a list; At is when it last changed.
type TrialEntry struct {
	At time.Time `json:"at"`
	Trial
}

// SchemaCheck names the form of a [Report].
const SchemaCheck = "boretight/check/1"

// Report is what an audit found.
type Report struct {
	Schema  string `json:"schema"`
	Records int64  `json:"records"`
	Holds   int64  `json:"holds"`
	// Interrupted counts the holds marked so and the open ones of a dead writer.
	Interrupted int64 `json:"interrupted"`
	OK          bool  `json:"ok"`
	// FirstFault says what is wrong and where; nil if nothing is.
	FirstFault *string `json:"first_fault"`
}
