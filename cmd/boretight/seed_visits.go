package main

import "boretight/internal/ticket"

// seedTicket is a visit of an instrument to the made-up shop: one joint as found and,
// after the work, as left.
type seedTicket struct {
	visit  ticket.Ticket // without number and identities
	remark string        // at closing; empty: still open
	family string        // of the joint, the room and the gauge
	// found and left are what the joint leaks, in Pa·m³/s; share is the inertial one.
	found, left, share float64
	// number is the ticket's, once it is kept.
	number string
}

// joint is what was held, INSTRUMENT/JOINT.
func (t seedTicket) joint() string { return t.visit.Instrument.Template + "/" + t.visit.Joints[0] }

// The made-up shop's instruments and customers: nobody's.
var (
	seedOboe     = ticket.Instrument{Template: "oboe", Maker: "Hallwell", Model: "Conservatoire", Serial: "HW 2214"}
	seedClarinet = ticket.Instrument{Template: "clarinet", Maker: "Marlow & Finch", Model: "Student", Serial: "71-0093"}
	seedFlute    = ticket.Instrument{Template: "flute", Maker: "Pellworth", Serial: "10442"}

	seedPlayer  = ticket.Customer{Name: "Ada Fenwick", Contact: "fenwick@mail.example"}
	seedSchool  = ticket.Customer{Name: "Marsh Road School", Contact: "band room, 555-0134"}
	seedTeacher = ticket.Customer{Name: "Joan Tiller", Contact: "555-0176"}
)

// seedTickets are what a shop sees every week. The last is the first one's instrument again.
var seedTickets = [...]seedTicket{
	{
		visit: ticket.Ticket{
			Instrument: seedOboe, Joints: []string{"upper"}, Customer: seedPlayer,
			Complaint: "Low notes come late, and not at all when the room is cold.",
			Condition: "Skin pads, hard; adhesive cracked at the G# cup; tenon cork dry.",
			Work: []ticket.Work{
				{Joint: "upper", Seat: "G#", Did: "Floated the pad anew and leveled it."},
				{Joint: "upper", Did: "Reseated three pads, new tenon cork."},
			},
		},
		remark: "Play in slowly, swab each time.", family: "small-laminar", found: 8.1e-3, left: 1.1e-3, share: 0.05,
	},
	{
		visit: ticket.Ticket{
			Instrument: seedClarinet, Joints: []string{"upper"}, Customer: seedSchool,
			Complaint: "Squeaks over the break.",
			Condition: "Register key bent, pads torn.",
			Work:      []ticket.Work{{Joint: "upper", Did: "Straightened the register key, replaced four pads."}},
		},
		family: "mixed-law", found: 1.4e-2, left: 2.4e-3, share: 0.3,
	},
	{
		visit: ticket.Ticket{
			Instrument: seedFlute, Joints: []string{"body"}, Customer: seedTeacher,
			Complaint: "Breathy from the F# down.",
			Work:      []ticket.Work{{Joint: "body", Did: "Shimmed the F# and E pads."}},
		},
		remark: "Collected.", family: "pressure", found: 6.0e-3, left: 3.1e-3, share: 0.1,
	},
	{
		visit: ticket.Ticket{
			Instrument: seedOboe, Joints: []string{"upper"}, Customer: seedPlayer,
			Complaint: "Half-hole notes are not clear again.",
			Condition: "Pads as left at the last visit; half-hole plate loose.",
			Work:      []ticket.Work{{Joint: "upper", Did: "Refitted the half-hole plate, leveled its pad."}},
		},
		family: "small-laminar", found: 4.6e-3, left: 0.9e-3, share: 0.05,
	},
}
