package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"golang.org/x/sync/errgroup"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/ledger/copies"
	"boretight/internal/metrics"
	"boretight/internal/web"
)

// round is what one bench is told.
type round struct {
	told config.Config
	// file is the settings file that it was told by, which may not be there yet; empty for
	// the demo, which keeps no settings.
	file string
	// gaugesGiven says that the gauges stand on the command line or in the environment,
	// which count more than the file.
	gaugesGiven bool
	// simulated is a demo: what it needs and was told no place for ends with it.
	simulated bool
	// measures are what a demo tells of each of its gauges' joints.
	measures map[string]config.Measure
	// joint is the demo's own, which is worked on meanwhile; nil without.
	joint *repair
	// fresh tells that the ledger is the program's own and ends with it.
	fresh bool
	// notice is said first.
	notice string
}

// work is a bench that has begun.
type work struct {
	*server
	bench  *bench.Bench
	site   *web.Site
	book   *book
	keeper *copies.Keeper
	known  *known
	joint  *repair
	search *gaugeSearch
	// shop tells that the ledger is a demo's new one, into which a made-up shop goes.
	shop bool
}

// begin makes a bench and its page ready to run, and says where the page is if that was
// not said before.
func (s *server) begin(ctx context.Context, r round) (_ *work, err error) {
	if r.notice != "" {
		fmt.Fprintln(s.err, r.notice)
	}
	if r, err = s.place(r); err != nil {
		return nil, err
	}
	sources, claims, err := openGauges(r.told, r.joint, s.log)
	if err != nil {
		return nil, err
	}
	first := s.port == nil
	if first {
		if s.port, err = listen(s.app, r.told.Listen); err != nil {
			return nil, err
		}
	}
	if err := admissible(s.port.Addr(), r.told); err != nil {
		return nil, err
	}
	secure, err := s.security(r)
	if err != nil {
		return nil, err
	}
	w := &work{server: s, joint: r.joint, search: newGaugeSearch(claims)}
	numbers := metrics.New(version().Version)
	if w.book, err = openBook(ctx, r.told.Ledger, s.log, numbers); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, w.book.close())
		}
	}()
	if w.keeper, err = newKeeper(ctx, r.told.Copies, w.book, s.log); err != nil {
		return nil, err
	}
	if w.known, err = readKnown(ctx, w.book.store); err != nil {
		return nil, err
	}
	if !r.simulated {
		if err = noteUnheard(ctx, s.err, w.book.store, r.told.Labels.Joint, r.told.Labels.Ticket); err != nil {
			return nil, err
		}
	}
	w.shop = r.fresh && w.known.records.Load() <= 1 // of its chain's own beginning
	page := pageSettings{
		simulated: r.simulated, measures: r.measures, security: secure, search: w.search, catalog: s.shopCatalog(r),
		reach: reachOf(s.port.Addr(), secure), file: r.file, gaugesGiven: r.gaugesGiven, change: s.change, again: s.again,
	}
	if err = w.assemble(ctx, r.told, sources, numbers, page); err != nil {
		return nil, err
	}
	if first {
		s.announce(r.told, secure)
	}
	fmt.Fprintf(s.err, "recording into %s; stop with Ctrl-C\n", w.book.path)
	return w, nil
}

// place gives a demo that was told no ledger one that ends with it.
func (s *server) place(r round) (round, error) {
	if !r.simulated || r.told.Ledger != "" {
		return r, nil
	}
	folder, err := s.temporary()
	if err != nil {
		return r, err
	}
	r.told.Ledger, r.fresh = filepath.Join(folder, "demo.boretight"), true
	fmt.Fprintln(s.err, "the demo's ledger is removed when it ends; --ledger FILE keeps it")
	return r, nil
}

// announce says where the page is and opens it, if that is wanted.
func (s *server) announce(told config.Config, secure security) {
	address, others := pageAddresses(s.port.Addr(), secure)
	fmt.Fprintln(s.out, address)
	secure.explain(s.err, others)
	if !s.open {
		return
	}
	if err := openBrowser(s.app, address, told.Token); err != nil {
		s.log.Warn("browser not opened", "error", err)
	}
}

// run works a bench, its page and what else runs beside them until ctx ends. The order
// of the end: the gauges stop, what they measured is judged and recorded, live streams
// and the page end, the ledger closes. With a demo's joint it is worked on meanwhile.
func (w *work) run(ctx context.Context) (err error) {
	defer func() { err = errors.Join(err, w.book.close()) }()
	// The page outlives the bench, so that the last verdict still reaches it.
	pageCtx, endPage := context.WithCancel(context.WithoutCancel(ctx))
	defer endPage()
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() error {
		defer endPage()
		if err := w.bench.Run(ctx); err != nil {
			return err
		}
		<-ctx.Done() // recordings may end; the page stays
		return nil
	})
	if w.keeper != nil {
		group.Go(func() error { return w.keeper.Run(ctx) })
	}
	group.Go(func() error { w.known.follow(ctx, w.log); return nil })
	group.Go(func() error { w.search.run(ctx); return nil })
	if w.joint != nil {
		group.Go(func() error { return w.joint.follow(ctx, w.bench) })
	}
	if w.shop {
		group.Go(func() error { w.seedShop(ctx); return nil })
	}
	group.Go(func() error { return w.site.Serve(pageCtx, w.port.lend()) })
	return group.Wait()
}
