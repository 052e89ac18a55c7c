package main

import (
	"context"
	"fmt"

	"boretight/internal/catalog"
	"boretight/internal/ledger"
	"boretight/internal/ticket"
	"boretight/internal/trial"
	"boretight/internal/web"
)

var (
	_ web.TicketShelf = shelf{}
	_ web.TicketDesk  = (*desk)(nil)
)

// Ticket implements [web.TicketShelf].
func (s shelf) Ticket(ctx context.Context, id string) (ticket.Ticket, error) {
	t, err := s.store.Ticket(ctx, id)
	return t, unknownAs(err, web.ErrNoTicket)
}

// Tickets implements [web.TicketShelf].
func (s shelf) Tickets(ctx context.Context, f ledger.TicketFilter) ([]ledger.TicketEntry, error) {
	all, err := s.store.Tickets(ctx, f)
	return all, unknownAs(err, web.ErrNoTicket)
}

// Instrument implements [web.TicketShelf].
func (s shelf) Instrument(ctx context.Context, id string) (ticket.Instrument, error) {
	i, err := s.store.Instrument(ctx, id)
	return i, unknownAs(err, web.ErrNoInstrument)
}

// Instruments implements [web.TicketShelf].
func (s shelf) Instruments(ctx context.Context, f ledger.InstrumentFilter) ([]ledger.InstrumentEntry, error) {
	all, err := s.store.Instruments(ctx, f)
	return all, unknownAs(err, web.ErrNoInstrument)
}

// TrialsOf implements [web.TicketShelf].
func (s shelf) TrialsOf(ctx context.Context, id string) ([]web.TrialRecord, error) {
	entries, err := s.store.Trials(ctx, ledger.Filter{Ticket: id, Limit: everyTrial})
	if err != nil {
		return nil, err
	}
	return s.trialRecords(ctx, entries)
}

// Improved implements [web.TicketShelf].
func (s shelf) Improved(ctx context.Context, found, left ledger.Trial) (trial.Comparison, error) {
	c, err := compareTrials(ctx, s.store, found, left)
	return c.Comparison, err
}

// Templates implements [web.TicketShelf]. The shop's edits are read each time: they may have
// been changed since.
func (s shelf) Templates(context.Context) ([]catalog.Instrument, error) {
	known, err := s.catalog()
	if err != nil {
		return nil, fmt.Errorf("read the catalog: %w", err)
	}
	return known.Instruments(), nil
}

// KeepTicket implements [web.TicketDesk].
func (d *desk) KeepTicket(ctx context.Context, t ticket.Ticket) (ticket.Ticket, error) {
	t, err := d.book.store.KeepTicket(ctx, t)
	return t, unknownAs(err, web.ErrNoTicket)
}

// AddWork implements [web.TicketDesk].
func (d *desk) AddWork(ctx context.Context, id string, w ticket.Work) (ticket.Work, error) {
	w, err := d.book.store.AddWork(ctx, id, w)
	return w, unknownAs(err, web.ErrNoTicket)
}
