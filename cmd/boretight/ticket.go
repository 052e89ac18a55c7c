package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"time"

	"boretight/internal/catalog"
	"boretight/internal/ledger"
	"boretight/internal/ticket"
)

// ticketCmd holds what is done with tickets: visits of instruments to the shop.
type ticketCmd struct {
	New   ticketNewCmd   `cmd:"" help:"Open a ticket for an instrument that came in."`
	List  ticketListCmd  `cmd:"" help:"List tickets, newest first."`
	Show  ticketShowCmd  `cmd:"" help:"Show a ticket: what came in, what was measured, what was done."`
	Work  ticketWorkCmd  `cmd:"" help:"Note what was done to the instrument."`
	Close ticketCloseCmd `cmd:"" help:"Close a ticket, or open it again."`
}

// schemaTicket names the form of a [ticketLine].
const schemaTicket = "boretight/ticket/1"

// ticketLine is a ticket as it is printed. The identity comes first.
type ticketLine struct {
	ticketEntryLine
	Contact   string     `json:"contact,omitempty"`
	Complaint string     `json:"complaint,omitempty"`
	Condition string     `json:"condition,omitempty"`
	Remark    string     `json:"remark,omitempty"`
	Work      []workLine `json:"work,omitempty"`
	Trials    []sideLine `json:"trials,omitempty"`
}

type instrumentLine struct {
	ID       string `json:"id"`
	Template string `json:"template"`
	Maker    string `json:"maker,omitempty"`
	Model    string `json:"model,omitempty"`
	Serial   string `json:"serial,omitempty"`
}

type workLine struct {
	ID    string    `json:"id"`
	At    time.Time `json:"at"`
	Joint string    `json:"joint,omitempty"`
	Seat  string    `json:"seat,omitempty"`
	Did   string    `json:"did"`
}

// lineOf is a whole ticket as it is printed.
func lineOf(t ticket.Ticket) ticketLine {
	l := ticketLine{
		ticketEntryLine: ticketEntryLine{t.ID, schemaTicket, t.Opened, t.Closed, instrumentLine(t.Instrument), t.Joints, t.Customer.Name},
		Contact:         t.Customer.Contact, Complaint: t.Complaint, Condition: t.Condition, Remark: t.Remark,
	}
	for _, w := range t.Work {
		l.Work = append(l.Work, workLine(w))
	}
	return l
}

// whichOne says which instrument it is: kind, maker, model and serial number.
func whichOne(i ticket.Instrument) string {
	words := []string{i.Template, i.Maker, i.Model}
	if i.Serial != "" {
		words = append(words, "no. "+i.Serial)
	}
	return strings.Join(slices.DeleteFunc(words, func(s string) bool { return s == "" }), " ")
}

// ticketNumber is a ticket's number as people write it: 1042 and t-1042 are T-1042.
func ticketNumber(told string) string {
	number := strings.ToUpper(strings.TrimSpace(told))
	if number != "" && strings.Trim(number, "0123456789") == "" {
		return "T-" + number
	}
	return number
}

// ticketTold is the number of the ticket that a command line names.
func ticketTold(told string) (string, error) {
	id := ticketNumber(told)
	if id == "" {
		return "", &usageError{err: errors.New("no ticket is named: give its number, such as T-1001"), hint: "boretight ticket list lists them"}
	}
	return id, nil
}

// aboutTicket makes an error of a ticket say what to do next.
func aboutTicket(err error) error {
	if errors.Is(err, ledger.ErrNotFound) {
		return &hintedError{err, "boretight ticket list lists them"}
	}
	return err
}

// ticketFlags are the flags by which the fields of a ticket are told.
var ticketFlags = map[string]string{"joints": "--joint", "did": "what was done"}

// misToldTicket makes faults of fields those of flags.
func misToldTicket(err error) error {
	var all []error
	for _, f := range ticket.Faults(err) {
		flag, ok := ticketFlags[f.Field]
		if !ok {
			flag = "--" + f.Field
		}
		all = append(all, fmt.Errorf("%s: %s", flag, f.Says))
	}
	if len(all) == 0 {
		return nil
	}
	return &usageError{err: errors.Join(all...)}
}

// withBook opens a ledger for recording, which makes it where there is none.
func withBook(ctx context.Context, told string, do func(*book) error) error {
	b, err := openBook(ctx, told, slog.New(slog.DiscardHandler))
	if err != nil {
		return err
	}
	return errors.Join(do(b), b.close())
}

// changeTicket changes a ticket in a ledger that is there: none is made for a ticket that it
// cannot have.
func changeTicket(ctx context.Context, told, id string, change func(*book, ticket.Ticket) error) error {
	store, err := openForReading(ctx, told)
	if err != nil {
		return err
	}
	_, err = store.Ticket(ctx, id)
	if err = errors.Join(aboutTicket(err), store.Close()); err != nil {
		return err
	}
	return withBook(ctx, told, func(b *book) error {
		t, err := b.store.Ticket(ctx, id)
		if err != nil {
			return aboutTicket(err)
		}
		return change(b, t)
	})
}

// keepTicket records a ticket in a ledger; what is wrong with it names the flags.
func keepTicket(ctx context.Context, b *book, t ticket.Ticket) (ticket.Ticket, error) {
	kept, err := b.store.KeepTicket(ctx, t)
	if mistold := misToldTicket(err); mistold != nil {
		return kept, mistold
	}
	return kept, err
}

// jointsTold are the joints of a template that were named, in its order; all when none was.
func jointsTold(of catalog.Instrument, told []string) ([]string, error) {
	var all, unknown []string
	for _, j := range of.Joints {
		all = append(all, j.Name)
	}
	if len(told) == 0 {
		return all, nil
	}
	chosen := make(map[string]bool, len(told))
	for _, name := range told {
		name = strings.TrimPrefix(name, of.Name+"/")
		chosen[name] = true
		if !slices.Contains(all, name) {
			unknown = append(unknown, name)
		}
	}
	if len(unknown) > 0 {
		return nil, fmt.Errorf("--joint %s: %s has no such joint, but %s", strings.Join(unknown, ", "), of.Name, strings.Join(all, ", "))
	}
	return slices.DeleteFunc(all, func(name string) bool { return !chosen[name] }), nil
}
