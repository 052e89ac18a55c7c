package ledger

import (
	"encoding/json"
	"fmt"
	"time"
)

// ListedTicket is a row of the list of tickets: where the ticket's newest record is, and by
// what lists find it.
type ListedTicket struct {
	ID string
	// At and Newest are the place of its newest record; the hash is not filled in.
	At     time.Time
	Newest Head
	// Closed is zero while the ticket is open.
	Opened, Closed time.Time
	// Instrument and Customer are identities; Customer may be empty.
	Instrument, Customer string
}

// NewListedTicket returns the row that a ticket record makes.
func NewListedTicket(r Record) (ListedTicket, error) {
	var t TicketRecord
	if err := json.Unmarshal(r.Content, &t); err != nil {
		return ListedTicket{}, fmt.Errorf("read content of a %s record: %w", r.Kind, err)
	}
	l := ListedTicket{ID: t.ID, At: r.At, Newest: Head{Chain: r.Chain, N: r.N},
		Opened: whole(t.Opened), Instrument: t.InstrumentID, Customer: t.CustomerID}
	if !t.Closed.IsZero() {
		l.Closed = whole(t.Closed)
	}
	return l, nil
}

// ListedCustomer is a row of the list of customers.
type ListedCustomer struct {
	ID string
	// At and Newest are the place of the newest record; the hash is not filled in.
	At     time.Time
	Newest Head
	// Name and Contact are identities of texts, or empty.
	Name, Contact string
}

// NewListedCustomer returns the row that a customer record makes.
func NewListedCustomer(r Record) (ListedCustomer, error) {
	var c CustomerRecord
	if err := json.Unmarshal(r.Content, &c); err != nil {
		return ListedCustomer{}, fmt.Errorf("read content of a %s record: %w", r.Kind, err)
	}
	l := ListedCustomer{ID: c.ID, At: r.At, Newest: Head{Chain: r.Chain, N: r.N}}
	if c.Name != nil {
		l.Name = c.Name.ID
	}
	if c.Contact != nil {
		l.Contact = c.Contact.ID
	}
	return l, nil
}

// ListedInstrument is a row of the list of instruments: where the newest ticket record is
// that tells of it.
type ListedInstrument struct {
	ID string
	// At and Newest are the place of that record; the hash is not filled in.
	At     time.Time
	Newest Head
}
