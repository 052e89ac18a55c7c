package ticket

import "time"

// Ticket is one visit of one instrument.
type Ticket struct {
	// ID is the shop's number, as T-1042; empty before the ticket is kept.
	ID         string
	Opened     time.Time
	Instrument Instrument
	// Joints are names within the instrument's template, in the order in which they are
	// held; at least one.
	Joints   []string
	Customer Customer
	// Complaint is what is wrong, as told, and Condition what was seen at intake.
	Complaint, Condition string
	// Work is what was done, oldest first.
	Work []Work
	// Closed is zero while the ticket is open; Remark is what was said at closing.
	Closed time.Time
	Remark string
}

// Instrument is one instrument over all its visits.
type Instrument struct {
	// ID is a UUID; empty before the instrument's first ticket is kept.
	ID string
	// Template is the name in the catalogue, as oboe.
	Template             string
	Maker, Model, Serial string
}

// Customer is whose instrument it is; the zero Customer is nobody's.
type Customer struct {
	// ID is a UUID; empty before the customer's first ticket is kept.
	ID            string
	Name, Contact string
}

// Work is one thing done to the instrument.
type Work struct {
	ID string
	At time.Time
	// Joint and Seat are names within the template; either may be empty.
	Joint, Seat string
	// Did is what was done, in the repairer's words.
	Did string
}

// Open reports whether the visit goes on.
func (t Ticket) Open() bool { return t.Closed.IsZero() }
