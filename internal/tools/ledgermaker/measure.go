package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"text/tabwriter"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
)

// rounds is how often each query is asked.
const rounds = 21

// page is one query of a page.
type page struct {
	name string
	ask  func() (int, error)
}

// measure prints, for each page, the median and the longest time and how much it showed.
func measure(ctx context.Context, path string, out io.Writer) (err error) {
	var db *sqlite.DB
	opening := page{"open, count and close", func() (int, error) {
		db, err := sqlite.Open(ctx, path, sqlite.Options{})
		if err != nil {
			return 0, err
		}
		n, err := db.Count(ctx)
		return int(n), errors.Join(err, db.Close())
	}}
	table := tabwriter.NewWriter(out, 0, 8, 2, ' ', 0)
	fmt.Fprintln(table, "page\tp50 ms\tmax ms\tshown")
	if err := opening.print(table); err != nil {
		return err
	}
	if db, err = sqlite.Open(ctx, path, sqlite.Options{}); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	pages, err := pagesOf(ctx, db)
	if err != nil {
		return err
	}
	for _, p := range pages {
		if err := p.print(table); err != nil {
			return err
		}
	}
	return table.Flush()
}

func (p page) print(out io.Writer) error {
	var took []time.Duration
	n := 0
	for range rounds {
		start := time.Now()
		var err error
		if n, err = p.ask(); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
		took = append(took, time.Since(start))
	}
	slices.Sort(took)
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	_, err := fmt.Fprintf(out, "%s\t%.2f\t%.2f\t%d\n", p.name, ms(took[rounds/2]), ms(took[rounds-1]), n)
	return err
}

// pagesOf returns the queries of all list pages. Some ask for what is in the middle of the
// ledger, or for what there is little of.
func pagesOf(ctx context.Context, db *sqlite.DB) ([]page, error) {
	newest, err := db.Tickets(ctx, ledger.TicketFilter{Limit: 2000})
	if err != nil {
		return nil, err
	}
	if len(newest) == 0 {
		return nil, errors.New("the ledger has no tickets")
	}
	old := newest[len(newest)-1]
	of, err := db.Holds(ctx, ledger.Filter{Ticket: old.ID})
	if err != nil {
		return nil, err
	}
	ofTrial, err := db.Trials(ctx, ledger.Filter{Ticket: old.ID})
	if err != nil {
		return nil, err
	}
	if len(of) == 0 || len(ofTrial) == 0 {
		return nil, fmt.Errorf("ticket %s has no holds or no trials", old.ID)
	}
	var pages []page
	filters := []ledger.Filter{{}, {Before: of[0].ID}, {Ticket: old.ID}, {InstrumentID: old.Instrument.ID}, {Instrument: "oboe"}, {Joint: "upper"},
		{Instrument: "bassoon", Joint: "wing", When: "as_left"}, {Verdict: "fail"}, {Verdict: "inconclusive"}, {When: "as_left"}, {Section: "none such"},
		{Gauge: "north"}}
	words := []string{"oboe", "oboe fail", "flute upper", "inconclusive bassoon", "upper as_left pass", old.ID, "t-1", old.Instrument.Serial,
		old.Instrument.Maker, old.Customer, "m", "m fail", "a b", "bel cor", "0999", "nobody"}
	for _, w := range words {
		filters = append(filters, ledger.Filter{Search: w})
	}
	for _, f := range filters {
		f.Limit = 50
		name := fmt.Sprintf("%+v", f)
		pages = append(pages, query("holds "+name, func() ([]ledger.Entry, error) { return db.Holds(ctx, f) }))
		if f.Before != "" {
			f.Before = ofTrial[0].ID
		}
		pages = append(pages, query("trials "+name, func() ([]ledger.TrialEntry, error) { return db.Trials(ctx, f) }))
	}
	for _, w := range append(words, "") {
		pages = append(pages,
			query(fmt.Sprintf("tickets %q", w), func() ([]ledger.TicketEntry, error) {
				return db.Tickets(ctx, ledger.TicketFilter{Search: w, Limit: 50})
			}),
			query(fmt.Sprintf("instruments %q", w), func() ([]ledger.InstrumentEntry, error) {
				return db.Instruments(ctx, ledger.InstrumentFilter{Search: w, Limit: 50})
			}))
	}
	return append(pages,
		query("open tickets", func() ([]ledger.TicketEntry, error) {
			return db.Tickets(ctx, ledger.TicketFilter{Open: true, Limit: 50})
		}),
		query("trend", func() ([]ledger.TrendPoint, error) { return db.Trend(ctx, old.Instrument.ID) }),
		query("records of limits", func() ([]ledger.Record, error) { return db.Records(ctx, ledger.LimitSet) }),
		page{"ticket", func() (int, error) { _, err := db.Ticket(ctx, old.ID); return 1, err }},
		page{"hold", func() (int, error) { _, err := db.Hold(ctx, of[0].ID); return 1, err }},
		page{"count", func() (int, error) { n, err := db.Count(ctx); return int(n), err }},
		page{"hold counts of 50 tickets", func() (int, error) {
			var ids []string
			for _, e := range newest[:min(50, len(newest))] {
				ids = append(ids, e.ID)
			}
			counts, err := db.HoldCounts(ctx, ids)
			return len(counts), err
		}}), nil
}

func query[T any](name string, ask func() ([]T, error)) page {
	return page{name, func() (int, error) {
		got, err := ask()
		return len(got), err
	}}
}
