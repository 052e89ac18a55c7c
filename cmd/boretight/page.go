package main

import (
	"context"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/metrics"
	"boretight/internal/web"
)

// pageSettings is what the page of a bench is given beside the bench itself.
type pageSettings struct {
	// simulated tells of a demo, in which a joint holds what was told whatever it is called.
	simulated bool
	// measures are what a demo tells of each of its gauges' joints; nil elsewhere.
	measures map[string]config.Measure
	security security
	// search is that for further gauges.
	search *gaugeSearch
	// catalog is the shop's, which the page may change.
	catalog *shopCatalog
	// reach are the addresses under which others come to the page; none on loopback.
	reach []string
	// file is the settings file to write what the page changes into; empty where nothing
	// is kept, for which change is. Gauges given on the command line or in the environment
	// count more than the file's: a change of those takes both.
	file        string
	gaugesGiven bool
	// change has the benches of this run after this one told something else.
	change func(func(*config.Config))
	// again ends this bench and begins anew with the settings as they are then; see
	// [server.again].
	again func()
}

// assemble puts the bench and its page together.
func (w *work) assemble(ctx context.Context, told config.Config, sources []bench.Source, numbers *metrics.Metrics, page pageSettings) error {
	settings, err := newSettings(told)
	if err != nil {
		return err
	}
	w.bench, err = bench.New(bench.Options{
		Sources:    sources,
		Recorder:   w.book.writer,
		LedgerPath: w.book.path,
		Records:    w.known.records.Load,
		Copies:     copiesState(w.keeper),
		RigRecords: w.known.rigRecords,
		Limits:     w.known.limitsInForce,
		Trials:     &trialBook{book: w.book},
		Settings:   settings,
		Logger:     w.log,
		Observers:  []bench.Observer{numbers},
	})
	if err != nil {
		return err
	}
	if err := numbers.Watch(w.bench); err != nil {
		return err
	}
	d := &desk{page: page, told: told, bench: w.bench, book: w.book, catalog: page.catalog.load}
	for gauge := range page.measures {
		if err := d.begin(gauge); err != nil {
			return err
		}
	}
	for _, s := range sources {
		if err := d.recall(ctx, s.Name); err != nil {
			w.log.Warn("what lay on the bench is not known", "gauge", s.Name, "error", err)
		}
	}
	house, err := houseOf(told.Shop)
	if err != nil {
		return err
	}
	w.site, err = web.New(web.Options{
		Desk:    d,
		House:   house,
		Bench:   w.bench,
		Ledger:  shelf{store: w.book.store, catalog: page.catalog.load},
		Metrics: numbers.Handler(),
		Logger:  w.log,
		Version: version().Version,
		Token:   told.Token,
		Hosts:   page.security.hosts,
		TLS:     page.security.tls,
	})
	return err
}
