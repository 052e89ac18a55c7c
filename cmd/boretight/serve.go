package main

import (
	"context"
	"errors"
	"log/slog"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/gauge"
)

// benchFlags are what serve and demo take. What is not given comes from the
// configuration's file.
type benchFlags struct {
	Bench   string   `group:"bench" placeholder:"NAME" help:"Name of the bench on the page, in metrics and in records."`
	Listen  string   `group:"bench" placeholder:"HOST:PORT" help:"Where to serve the page; 127.0.0.1:8417 or, if that is in use, a free port."`
	Token   string   `group:"bench" placeholder:"SECRET" help:"What a browser must know; needed if others can reach the page."`
	Host    []string `group:"bench" placeholder:"NAME" help:"Further name under which the page may be asked for; may be repeated."`
	TLSCert string   `group:"bench" name:"tls-cert" type:"path" placeholder:"FILE" help:"Certificate, PEM, with which to serve others; one of the program's own making when not given."`
	TLSKey  string   `group:"bench" name:"tls-key" type:"path" placeholder:"FILE" help:"Its key, PEM."`
	Ledger  string   `group:"bench" placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	Copies  string   `group:"bench" placeholder:"FOLDER" help:"Folder that takes a copy of the ledger each day, 14 kept; best on another disk."`
	Gauge   []string `group:"bench" sep:"none" placeholder:"[NAME=]ADDRESS" help:"Where a gauge is; may be repeated."`
	Open    bool     `group:"bench" help:"Open the page in the browser, or that of the program already running."`

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
	text(f.TLSCert, &c.TLSCert)
	text(f.TLSKey, &c.TLSKey)
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
page is the first line of standard output.

A tablet in the shop reaches the bench with --listen 0.0.0.0:8417 and a --token; it is
then served over https.`
}

func (c *serveCmd) run(ctx context.Context, a app) (status, error) {
	told, err := c.told()
	if err != nil {
		return usage, err
	}
	if c.Flags.Open && !a.given("listen") {
		if page := alreadyRunning(ctx, told); page != "" {
			return done, openBrowser(a, page, told.Token)
		}
	}
	return done, newServer(a, c.Flags.Open, c.next).run(ctx)
}

// told returns what file, environment and flags say.
func (c *serveCmd) told() (config.Config, error) {
	told, err := config.Load(c.Config)
	if err != nil {
		return told, &usageError{err: err}
	}
	told = c.Flags.over(told)
	if err := told.Validate(); err != nil {
		return told, &usageError{err: err}
	}
	return told, nil
}

// next returns what the next bench is told: the file is read anew. Until a gauge is set
// up, a double click shows a simulated bench, with the shop's address.
func (c *serveCmd) next(change func(config.Config) config.Config) (round, error) {
	told, err := c.told()
	if err != nil {
		return round{}, err
	}
	told = change(told)
	if err := told.Validate(); err != nil {
		return round{}, &usageError{err: err}
	}
	file, err := config.Path(c.Config)
	if err != nil {
		file = "" // a system that names no folder for settings keeps none
	}
	if !c.Flags.Open || len(told.Gauges) > 0 {
		return round{told: told, file: file, gaugesGiven: len(c.Flags.Gauge) > 0}, nil
	}
	demo := demoCmd{Flags: c.Flags}
	demo.Flags.Ledger, demo.Flags.Copies = "", "" // simulated holds must never get into the shop's ledger
	demo.Flags.Listen, demo.Flags.Token, demo.Flags.Host = told.Listen, told.Token, told.Hosts
	demo.Flags.TLSCert, demo.Flags.TLSKey = told.TLSCert, told.TLSKey
	r, err := demo.next(change)
	r.file, r.told.Shop = file, told.Shop
	r.notice = "no gauge is set up yet: showing a simulated bench; see boretight ports and boretight serve --help"
	return r, err
}

// openGauges returns the gauges told, and the registry of who has which port, which
// whoever looks for further gauges must share. A bench without a gauge has nothing to show.
func openGauges(told config.Config, joint *repair, log *slog.Logger) ([]bench.Source, *gauge.Claims, error) {
	addresses, err := told.Addresses()
	if err != nil {
		return nil, nil, err
	}
	if len(addresses) == 0 {
		return nil, nil, &usageError{
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
			return nil, nil, err
		}
		sources[i] = bench.Source{Name: address.Label(), Gauge: g}
	}
	return sources, claims, nil
}
