package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"

	"golang.org/x/sync/errgroup"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/ledger/copies"
	"boretight/internal/metrics"
	"boretight/internal/web"
)

// benchFlags are what serve and demo take. What is not given comes from the
// configuration's file.
type benchFlags struct {
	Bench  string   `group:"bench" placeholder:"NAME" help:"Name of the bench on the page, in metrics and in records."`
	Listen string   `group:"bench" placeholder:"HOST:PORT" help:"Where to serve the page; 127.0.0.1:8417 or, if that is in use, a free port."`
	Token  string   `group:"bench" placeholder:"SECRET" help:"What a browser must know; needed if others can reach the page."`
	Host   []string `group:"bench" placeholder:"NAME" help:"Further name under which the page may be asked for; may be repeated."`
	Ledger string   `group:"bench" placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	Copies string   `group:"bench" placeholder:"FOLDER" help:"Folder that takes a copy of the ledger each day, 14 kept; best on another disk."`
	Gauge  []string `group:"bench" sep:"none" placeholder:"[NAME=]ADDRESS" help:"Where a gauge is; may be repeated."`
	Open   bool     `group:"bench" help:"Open the page in the browser, or that of the program already running."`

	Measure config.Measure `embed:""`
	Labels  config.Labels  `embed:""`
	Rig     config.Rig     `embed:""`
}

// over returns the configuration that results from the flags over c.
func (f benchFlags) over(c config.Config) config.Config {
	text := func(flag string, told *string) {
		if flag != "" {
			*told = flag
		}
	}
	list := func(flag []string, told *[]string) {
		if len(flag) > 0 {
			*told = flag
		}
	}
	text(f.Bench, &c.Bench)
	text(f.Listen, &c.Listen)
	text(f.Token, &c.Token)
	text(f.Ledger, &c.Ledger)
	text(f.Copies, &c.Copies)
	list(f.Host, &c.Hosts)
	list(f.Gauge, &c.Gauges)
	c.Measure = f.Measure.Over(c.Measure)
	c.Labels = f.Labels.Over(c.Labels)
	c.Rig = f.Rig.Over(c.Rig)
	return c
}

type serveCmd struct {
	Config string     `group:"bench" type:"path" placeholder:"FILE" help:"Configuration; boretight/boretight.toml in the system's folder of settings when not given."`
	Flags  benchFlags `embed:""`
}

// Help shows an example.
func (serveCmd) Help() string {
	return `Example:
  boretight serve --gauge upper=serial:COM5 --volume 34.2ml --limit 2.5sccm

Also set in the file or by BORETIGHT_LISTEN, BORETIGHT_LEDGER and so on; a flag
counts more than the environment, which counts more than the file. The address of the
page is the first line of standard output.`
}

func (c *serveCmd) run(ctx context.Context, a app) (status, error) {
	told, err := config.Load(c.Config)
	if err != nil {
		return usage, &usageError{err: err}
	}
	told = c.Flags.over(told)
	if err := told.Validate(); err != nil {
		return usage, &usageError{err: err}
	}
	if usual := cmp.Or(told.Listen, config.DefaultListen); c.Flags.Open && c.Flags.Listen == "" && alreadyRunning(ctx, usual) {
		return done, openBrowser(a, "http://"+usual+"/", told.Token)
	}
	if c.Flags.Open && len(told.Gauges) == 0 {
		fmt.Fprintln(a.err, "no gauge is set up yet: showing a simulated bench; see boretight ports and boretight serve --help")
		demo := demoCmd{Flags: c.Flags}
		demo.Flags.Ledger, demo.Flags.Copies = "", "" // simulated holds must never get into the shop's ledger
		return demo.serve(ctx, a)
	}
	return done, serve(ctx, a, told, c.Flags.Open, nil)
}

// serve works a bench, its page and what else runs beside them until ctx ends. The order
// of the end: the gauges stop, what they measured is judged and recorded, live streams
// and the page end, the ledger closes. With a demo's joint it is worked on meanwhile.
func serve(ctx context.Context, a app, told config.Config, open bool, joint *repair) (err error) {
	log := slog.New(slog.NewTextHandler(a.err, nil))
	sources, err := openGauges(told, joint, log)
	if err != nil {
		return err
	}
	listener, err := listen(a, told.Listen)
	if err != nil {
		return err
	}
	if err := web.Admissible(listener.Addr(), told.Token); err != nil {
		return errors.Join(err, listener.Close())
	}
	numbers := metrics.New(version().Version)
	book, err := openBook(ctx, told.Ledger, log, numbers)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	defer func() { err = errors.Join(err, book.close()) }()
	keeper, err := newKeeper(ctx, told.Copies, book, log)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	known, err := readKnown(ctx, book.store)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	b, site, err := newBench(told, sources, book, known, keeper, numbers, log)
	if err != nil {
		return errors.Join(err, listener.Close())
	}

	address := "http://" + listener.Addr().String() + "/"
	fmt.Fprintln(a.out, address)
	fmt.Fprintf(a.err, "recording into %s; stop with Ctrl-C\n", book.path)
	if open {
		if err := openBrowser(a, address, told.Token); err != nil {
			log.Warn("browser not opened", "error", err)
		}
	}
	// The page outlives the bench, so that the last verdict still reaches it.
	pageCtx, endPage := context.WithCancel(context.WithoutCancel(ctx))
	defer endPage()
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() error {
		defer endPage()
		if err := b.Run(ctx); err != nil {
			return err
		}
		<-ctx.Done() // recordings may end; the page stays
		return nil
	})
	if keeper != nil {
		group.Go(func() error { return keeper.Run(ctx) })
	}
	group.Go(func() error { known.follow(ctx, log); return nil })
	if joint != nil {
		group.Go(func() error { return joint.follow(ctx, b) })
	}
	group.Go(func() error { return site.Serve(pageCtx, listener) })
	return group.Wait()
}

// openGauges returns the gauges told; a bench without one has nothing to show.
func openGauges(told config.Config, joint *repair, log *slog.Logger) ([]bench.Source, error) {
	addresses, err := told.Addresses()
	if err != nil {
		return nil, err
	}
	if len(addresses) == 0 {
		return nil, &usageError{
			err:  errors.New("no gauge given"),
			hint: "name one with --gauge; boretight ports lists them, and boretight demo runs without one",
		}
	}
	sources := make([]bench.Source, len(addresses))
	claims := gauge.NewClaims()
	for i, address := range addresses {
		options := gauge.Options{Logger: log, Claims: claims}
		if joint != nil {
			options.Repairs = &joint.repairs
		}
		g, err := gauge.Open(address, options)
		if err != nil {
			return nil, err
		}
		sources[i] = bench.Source{Name: address.Label(), Gauge: g}
	}
	return sources, nil
}

// newBench puts a bench and its page together.
func newBench(told config.Config, sources []bench.Source, book *book, known *known, keeper *copies.Keeper, numbers *metrics.Metrics, log *slog.Logger) (*bench.Bench, *web.Site, error) {
	settings, err := newSettings(told)
	if err != nil {
		return nil, nil, err
	}
	b, err := bench.New(bench.Options{
		Sources:    sources,
		Recorder:   book.writer,
		LedgerPath: book.path,
		Records:    book.records.Load,
		Copies:     copiesState(keeper),
		RigRecords: known.rigRecords,
		Limits:     known.limitsInForce,
		Trials:     &trialBook{book: book},
		Settings:   settings,
		Logger:     log,
		Observers:  []bench.Observer{numbers},
	})
	if err != nil {
		return nil, nil, err
	}
	if err := numbers.Watch(b); err != nil {
		return nil, nil, err
	}
	site, err := web.New(web.Options{
		Bench:   b,
		Ledger:  shelf{book.store},
		Metrics: numbers.Handler(),
		Logger:  log,
		Version: version().Version,
		Token:   told.Token,
		Hosts:   told.Hosts,
	})
	return b, site, err
}

// listen opens the page's address. Only the default may give way to a free port.
func listen(a app, told string) (net.Listener, error) {
	address := told
	if address == "" {
		address = config.DefaultListen
	}
	l, err := net.Listen("tcp", address)
	if err == nil {
		return l, nil
	}
	if told != "" || !inUse(err) {
		return nil, &hintedError{
			err:  fmt.Errorf("serve page: %w", err),
			hint: "choose another address with --listen, or leave it out to get a free port",
		}
	}
	host, _, _ := net.SplitHostPort(address)
	l, err = net.Listen("tcp", net.JoinHostPort(host, "0"))
	if err != nil {
		return nil, fmt.Errorf("serve page: %w", err)
	}
	fmt.Fprintf(a.err, "%s is in use; serving at %s instead\n", address, l.Addr())
	return l, nil
}

// inUse reports whether a listen failed because somebody else listens there.
func inUse(err error) bool {
	sys, ok := errors.AsType[*os.SyscallError](err)
	return ok && sys.Syscall == "bind"
}
