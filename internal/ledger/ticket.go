package ledger

import (
	"time"

	"boretight/internal/ticket"
)

// The kinds of records that tell of visits.
const (
	// TicketKept's content is a [TicketRecord].
	TicketKept RecordKind = "ticket"
	// WorkDone's content is a [WorkRecord].
	WorkDone RecordKind = "work"
	// CustomerKept's content is a [CustomerRecord].
	CustomerKept RecordKind = "customer"
)

// TicketRecord is the content of a ticket record: the whole ticket as it is from then on,
// but for its work and what can be erased.
type TicketRecord struct {
	ID           string    `json:"id"`
	Opened       time.Time `json:"opened"` // UTC, whole microseconds
	InstrumentID string    `json:"instrument_id"`
	Template     string    `json:"template"`
	Maker        string    `json:"maker,omitempty"`
	Model        string    `json:"model,omitempty"`
	Serial       string    `json:"serial,omitempty"`
	Joints       []string  `json:"joints"`
	CustomerID   string    `json:"customer_id,omitempty"`
	// The texts are nil where nothing was written.
	Complaint *TextRef  `json:"complaint,omitempty"`
	Condition *TextRef  `json:"condition,omitempty"`
	Closed    time.Time `json:"closed,omitzero"`
	Remark    *TextRef  `json:"remark,omitempty"`
}

// Instrument returns the instrument as the record tells it.
func (r TicketRecord) Instrument() ticket.Instrument {
	return ticket.Instrument{ID: r.InstrumentID, Template: r.Template, Maker: r.Maker, Model: r.Model, Serial: r.Serial}
}

// NewTicketRecord returns the record of a ticket without references to its texts.
func NewTicketRecord(t ticket.Ticket) TicketRecord {
	r := TicketRecord{
		ID: t.ID, Opened: whole(t.Opened), Joints: t.Joints, CustomerID: t.Customer.ID,
		InstrumentID: t.Instrument.ID, Template: t.Instrument.Template, Maker: t.Instrument.Maker,
		Model: t.Instrument.Model, Serial: t.Instrument.Serial,
	}
	if !t.Open() {
		r.Closed = whole(t.Closed)
	}
	return r
}

// CustomerRecord is the content of a customer record. The newest of a customer counts.
type CustomerRecord struct {
	ID      string   `json:"id"`
	Name    *TextRef `json:"name,omitempty"`
	Contact *TextRef `json:"contact,omitempty"`
}

// WorkRecord is the content of a work record.
type WorkRecord struct {
	ID     string    `json:"id"`
	Ticket string    `json:"ticket"`
	At     time.Time `json:"at"` // UTC, whole microseconds
	Joint  string    `json:"joint,omitempty"`
	Seat   string    `json:"seat,omitempty"`
	Did    *TextRef  `json:"did,omitempty"`
}

// NewWorkRecord returns the record of work without the reference to its text.
func NewWorkRecord(ticketID string, w ticket.Work) WorkRecord {
	return WorkRecord{ID: w.ID, Ticket: ticketID, At: whole(w.At), Joint: w.Joint, Seat: w.Seat}
}

// TicketFilter chooses what the list of tickets shows. The zero value is the newest 100.
type TicketFilter struct {
	// Limit is the most entries wanted; 0 means 100.
	Limit int
	// Before is the identity of the last entry of the page before; empty for the first page.
	Before string
	// Search are words that must all begin a word of the ticket: its number, the template,
	// maker, model and serial number of the instrument, name and contact of the customer.
	// Upper and lower case are alike.
	Search string
	// Instrument, if not empty, is the identity of the instrument.
	Instrument string
	// Open shows only tickets that are not closed.
	Open bool
}

// TicketEntry is a ticket in a list.
type TicketEntry struct {
	ID     string
	Opened time.Time
	// Closed is zero while the ticket is open.
	Closed     time.Time
	Instrument ticket.Instrument
	Joints     []string
	// Customer is the customer's name; empty when there is none or it was erased.
	Customer string
}

// InstrumentFilter chooses what the list of instruments shows. The zero value is the 100
// that were last told of.
type InstrumentFilter struct {
	// Limit is the most entries wanted; 0 means 100.
	Limit int
	// Before is the identity of the last entry of the page before; empty for the first page.
	Before string
	// Search are words as in a [TicketFilter], all to be found in one visit of the instrument.
	Search string
}

// InstrumentEntry is an instrument in a list.
type InstrumentEntry struct {
	ticket.Instrument
	// Visits is the number of its tickets, Last and Opened number and time of the one opened
	// last, Customer whose it was then.
	Visits   int
	Last     string
	Opened   time.Time
	Customer ticket.Customer
}

// TrendPoint is a trial of an instrument, for its state over the years.
type TrendPoint struct {
	// At is when the trial last changed.
	At time.Time
	// Trial and Ticket are identities.
	Trial, Ticket        string
	Joint, Section, When string
	// HasRate tells that there is a leakage rate: Rate with its standard uncertainty U and its
	// interval of 95 % from Low to High, all in Pa·m³/s.
	HasRate            bool
	Rate, U, Low, High float64
	Verdict            string
}
