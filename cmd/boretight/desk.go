package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"

	"boretight/internal/bench"
	"boretight/internal/catalog"
	"boretight/internal/config"
	"boretight/internal/ledger"
	"boretight/internal/ticket"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// desk does at the bench what is asked of it on the page.
type desk struct {
	page    pageSettings
	told    config.Config
	bench   *bench.Bench
	book    *book
	catalog func() (catalog.Catalog, error)
	// laying has what lies on the bench and the ledger's word of it change together.
	laying sync.Mutex
	// setting has changes of the settings take turns: each is of what the one before left.
	setting sync.Mutex
}

var _ web.Desk = (*desk)(nil)

// Put implements [web.Desk].
func (d *desk) Put(ctx context.Context, gauge string, p web.Put) error {
	d.laying.Lock()
	defer d.laying.Unlock()
	return d.put(ctx, gauge, p)
}

// put is Put for who has laying. What it began it ends, whether or not somebody still waits
// for the answer.
func (d *desk) put(ctx context.Context, gauge string, p web.Put) error {
	s, err := d.settings(gauge, p)
	if err != nil {
		return err
	}
	if err := d.bench.Change(gauge, s); err != nil {
		if errors.Is(err, bench.ErrNoGauge) {
			return &web.Fault{Field: "gauge", Says: fmt.Sprintf("There is no gauge %q on this bench.", gauge)}
		}
		return err
	}
	if err := d.keep(context.WithoutCancel(ctx), gauge, p); err != nil {
		return fmt.Errorf("%s lies on the bench on gauge %s, but will not after a restart: %w", p.Joint, gauge, err)
	}
	return nil
}

// toldOf is what was told to the program of what is on a gauge.
func (d *desk) toldOf(gauge string) config.Config {
	told := d.told
	if m, ok := d.page.measures[gauge]; ok {
		told.Measure = m
	}
	return told
}

// begin lays on the bench what was told to the program.
func (d *desk) begin(gauge string) error {
	s, err := newSettings(d.toldOf(gauge))
	if err != nil {
		return err
	}
	return d.bench.Change(gauge, s)
}

// keep keeps in the ledger what lies on the bench, so that it is there after a restart.
func (d *desk) keep(ctx context.Context, gauge string, p web.Put) error {
	return d.append(ctx, ledger.Laid{
		Gauge: gauge, Ticket: p.Ticket, Joint: p.Joint, Section: p.Section, Closure: p.Closure, When: p.When,
	}.Draft())
}

// recall lays on the bench what lay there when the program ended. Who names a joint at the
// start means that one; the demo names its own only for want of another.
func (d *desk) recall(ctx context.Context, gauge string) error {
	if d.told.Labels.Joint != "" && !d.page.simulated {
		return nil
	}
	laid, err := newestLaid(ctx, d.book.store, gauge)
	if err != nil || laid == nil {
		return err
	}
	s, err := d.settings(gauge, web.Put{Ticket: laid.Ticket, Joint: laid.Joint, Section: laid.Section, Closure: laid.Closure, When: laid.When})
	if err != nil {
		return fmt.Errorf("lay on the bench again what lay there: %w", err)
	}
	return d.bench.Change(gauge, s)
}

// newestLaid is what was laid on the bench last on a gauge; nil when nothing was.
func newestLaid(ctx context.Context, store ledger.Store, gauge string) (*ledger.Laid, error) {
	r, err := store.Newest(ctx, ledger.BenchLaid, gauge)
	if errors.Is(err, ledger.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	laid := new(ledger.Laid)
	if err := json.Unmarshal(r.Content, laid); err != nil {
		return nil, fmt.Errorf("read what was laid on the bench: %w", err)
	}
	return laid, nil
}

func (d *desk) append(ctx context.Context, draft ledger.Draft) error {
	_, err := d.book.store.Append(ctx, draft)
	return err
}

// settings are what holds of what lies on the bench are measured against: what was told to
// the program as far as it is of the bench or of that joint, and for want of a volume that of
// the catalog's bore.
func (d *desk) settings(gauge string, p web.Put) (bench.Settings, error) {
	told := d.toldOf(gauge)
	if !d.page.simulated {
		told.Measure = toldOfPut(told, p)
	}
	told.Labels = config.Labels{
		Joint: p.Joint, Section: p.Section, Closure: p.Closure, When: p.When, Ticket: p.Ticket, Replugged: told.Labels.Replugged,
	}
	if err := faultsOf(told.Labels); err != nil {
		return bench.Settings{}, err
	}
	s, err := newSettings(told)
	if err != nil || s.Fit.Volume.Told() || p.Section != "" {
		return s, err
	}
	known, err := d.catalog()
	if err != nil {
		return s, &web.Fault{Says: said(fmt.Errorf("the catalog cannot be read: %w", err))}
	}
	_, joint, err := known.Joint(p.Joint)
	if err != nil {
		return s, nil // a joint of the shop's own naming
	}
	if !s.Fit.Bore.Told() {
		s.Fit.Bore.Value = float64(joint.HeatDiameter())
	}
	if s.Template, err = joint.Volume(); err != nil {
		return s, err
	}
	return s, nil
}

// toldOfPut is what was told of how to measure, as far as it is of what is put: a volume and
// a bore are of one joint or section, and a limit is of its closure too. Without a joint they
// were told of whatever lay on the bench at the start, which this is not; the limit then is
// one for all.
func toldOfPut(told config.Config, p web.Put) config.Measure {
	m, of := told.Measure, told.Labels
	if of.Joint != p.Joint || of.Section != p.Section {
		m.Volume, m.VolumeU, m.Bore = nil, nil, nil
		if of.Joint != "" {
			m.Limit = nil
		}
	}
	if of.Closure != p.Closure && of.Joint != "" {
		m.Limit = nil
	}
	return m
}

// faultsOf says of labels what is wrong with which field.
func faultsOf(l config.Labels) error {
	var faults []error
	for field, one := range map[string]config.Labels{
		"joint": {Joint: l.Joint}, "section": {Section: l.Section}, "closure": {Closure: l.Closure}, "when": {When: l.When}, "ticket": {Ticket: l.Ticket},
	} {
		if err := one.Validate(); err != nil {
			faults = append(faults, &web.Fault{Field: field, Says: said(errors.New(strings.TrimPrefix(err.Error(), field+" = ")))})
		}
	}
	if l.Joint == "" {
		faults = append(faults, &web.Fault{Field: "joint", Says: "Say which joint, as INSTRUMENT/JOINT: oboe/upper, for one."})
	}
	return errors.Join(faults...)
}

// Step implements [web.Desk].
func (d *desk) Step(ctx context.Context, gauge string) (web.Put, error) {
	d.laying.Lock()
	defer d.laying.Unlock()
	ahead, err := d.Ahead(ctx, gauge)
	switch {
	case err != nil:
		return web.Put{}, err
	case !ahead.Known:
		return web.Put{}, &web.Fault{Says: "No ticket lies on the bench: lay a joint of one on it."}
	case ahead.Next == nil:
		return web.Put{}, &web.Fault{Says: "This was the ticket's last stage: there is nothing to step on to."}
	}
	return *ahead.Next, d.put(ctx, gauge, *ahead.Next)
}

// Ahead implements [web.Desk].
func (d *desk) Ahead(ctx context.Context, gauge string) (web.Ahead, error) {
	on, err := d.bench.Settings(gauge)
	if err != nil || on.Setup.Ticket == "" {
		return web.Ahead{}, err
	}
	t, err := d.book.store.Ticket(ctx, on.Setup.Ticket)
	switch {
	case errors.Is(err, ledger.ErrNotFound):
		return web.Ahead{}, nil // a label only
	case err != nil:
		return web.Ahead{}, err
	}
	ahead := web.Ahead{Known: true}
	if next, ok := t.After(ticket.Stage{Joint: on.Setup.Name(), When: on.Setup.When}); ok {
		ahead.Next = putOf(t, next)
	}
	return ahead, nil
}

// putOf is a stage of a ticket as it is laid on the bench.
func putOf(t ticket.Ticket, s ticket.Stage) *web.Put {
	return &web.Put{Ticket: t.ID, Joint: s.Joint, When: s.When}
}

// mostOpen is how many open tickets are offered: more than lie about in a shop.
const mostOpen = 12

// Layable implements [web.Desk].
func (d *desk) Layable(ctx context.Context) (web.Layable, error) {
	var all web.Layable
	known, err := d.catalog()
	if err != nil {
		return all, err
	}
	for _, i := range known.Instruments() {
		for _, j := range i.Joints {
			all.Joints = append(all.Joints, i.Name+"/"+j.Name)
		}
	}
	open, err := d.book.store.Tickets(ctx, ledger.TicketFilter{Open: true, Limit: mostOpen})
	if err != nil {
		return all, err
	}
	for _, e := range open {
		t, err := d.book.store.Ticket(ctx, e.ID)
		if err != nil {
			return all, err
		}
		one := web.OpenTicket{ID: t.ID, Words: strings.Join(strings.Fields(t.Instrument.Template+" "+t.Instrument.Maker+" "+t.Instrument.Model+" "+t.Instrument.Serial), " ")}
		for _, s := range t.Stages() {
			one.Stages = append(one.Stages, *putOf(t, s))
		}
		all.Tickets = append(all.Tickets, one)
	}
	return all, nil
}

// Void implements [web.Desk]. What it began it ends, whether or not somebody still waits for
// the answer: else a verdict would be shown that counts no more.
func (d *desk) Void(ctx context.Context, hold, reason string) error {
	var unjudged error
	err := d.bench.SetAside(ctx, hold, reason, func() ([]trial.Trial, error) {
		trials, err := voidHold(context.WithoutCancel(ctx), d.book.store, hold, reason)
		if errors.Is(err, errUnjudged) {
			unjudged, err = err, nil
		}
		results := make([]trial.Trial, len(trials))
		for i, t := range trials {
			results[i] = t.Result
		}
		return results, err
	})
	switch {
	case errors.Is(err, errVoided), errors.Is(err, errHolding):
		return &web.Fault{Says: said(err)}
	case errors.Is(err, ledger.ErrNotFound):
		return fmt.Errorf("%w: %w", web.ErrNoHold, err)
	case err != nil:
		return err
	}
	return unjudged
}
