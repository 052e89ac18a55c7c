package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/gauge/sim"
	"boretight/internal/quantity"
)

type demoCmd struct {
	SeedOnly bool       `help:"Write the made-up shop's holds into --ledger and exit."`
	Flags    benchFlags `embed:""`
}

// Help shows an example.
func (demoCmd) Help() string {
	return `Example:
  boretight demo

A simulated gauge measures a simulated oboe joint, again and again: as found, half
seated and as left. A fresh ledger in the folder of temporary files takes the holds and is
removed at the end; --ledger FILE keeps it. All flags of boretight serve work here.`
}

// What the demo shows when no gauge is given.
const (
	demoGauge  = "oboe-upper"
	demoDevice = "oboe-repair"
)

// What the demo's own gauge holds.
const (
	demoJoint   = "oboe/upper"
	demoClosure = "all keys closed"
)

// demoLimit lies between what the demo's joint leaks as found and as left.
const demoLimit = "2.5sccm"

func (c *demoCmd) run(ctx context.Context, a app) (status, error) {
	c.forgetShop(a)
	return c.serve(ctx, a)
}

// serve does what the flags say, whatever the command line was.
func (c *demoCmd) serve(ctx context.Context, a app) (result status, err error) {
	told, err := c.config()
	if err != nil {
		return failed, err
	}
	if err := told.Validate(); err != nil {
		return usage, &usageError{err: err}
	}
	if c.SeedOnly {
		return c.seed(ctx, a, told)
	}
	if told.Ledger == "" {
		folder, err := os.MkdirTemp("", "boretight-demo-")
		if err != nil {
			return failed, fmt.Errorf("make a place for the demo's ledger: %w", err)
		}
		defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
		told.Ledger = filepath.Join(folder, "demo.boretight")
		fmt.Fprintln(a.err, "the demo's ledger is removed when it ends; --ledger FILE keeps it")
	}
	if len(c.Flags.Gauge) == 0 && c.Flags.Labels == (config.Labels{}) {
		return done, serve(ctx, a, told, c.Flags.Open, &repair{gauge: demoGauge})
	}
	return done, serve(ctx, a, told, c.Flags.Open, nil)
}

// forgetShop takes back what the environment says of the shop's ledger, its copies,
// gauges, joints and rig.
func (c *demoCmd) forgetShop(a app) {
	if !a.given("ledger") {
		c.Flags.Ledger = ""
	}
	if !a.given("copies") {
		c.Flags.Copies = ""
	}
	if !a.given("gauge") {
		c.Flags.Gauge = nil
	}
	for flag, told := range map[string]*string{
		"joint": &c.Flags.Labels.Joint, "section": &c.Flags.Labels.Section, "closure": &c.Flags.Labels.Closure,
		"when": &c.Flags.Labels.When, "ticket": &c.Flags.Labels.Ticket,
		"hose": &c.Flags.Rig.Hose, "stoppers": &c.Flags.Rig.Stoppers, "valve": &c.Flags.Rig.Valve,
	} {
		if !a.given(flag) {
			*told = ""
		}
	}
}

// config returns the demo's own defaults under the flags. The shop's configuration
// is left aside: the demo must never record into the shop's ledger.
func (c *demoCmd) config() (config.Config, error) {
	told := config.Default()
	told.Bench = "demo"
	told.Gauges = []string{demoGauge + "=sim:" + demoDevice}
	if len(c.Flags.Gauge) == 0 {
		told.Labels = config.Labels{Joint: demoJoint, Closure: demoClosure}
	}
	told = c.Flags.over(told)
	addresses, err := told.Addresses()
	if err != nil {
		return told, &usageError{err: err, hint: "boretight ports lists addresses"}
	}
	measure, err := demoMeasure(addresses[0])
	if err != nil {
		return told, err
	}
	told.Measure = told.Measure.Over(measure)
	return told, nil
}

// demoMeasure is what a repairer would tell of a simulated joint; nothing of another.
func demoMeasure(address gauge.Address) (config.Measure, error) {
	var m config.Measure
	for _, s := range sim.Names() {
		if address.Scheme != gauge.Sim || s.Name != address.Target || s.Truth.Volume == 0 {
			continue
		}
		limit, err := quantity.ParseLeakRate(demoLimit)
		if err != nil {
			return m, err
		}
		spread, err := quantity.ParseSpread[quantity.Volume]("2%")
		if err != nil {
			return m, err
		}
		m.Volume = new(quantity.Volume(s.Truth.Volume))
		m.VolumeU = &spread
		m.Bore = new(quantity.Length(2 * s.Truth.Bore))
		m.Ambient = new(quantity.Pressure(s.Truth.Ambient))
		m.Temperature = new(quantity.Temperature(s.Truth.Temperature))
		m.Limit = &limit
		return m, nil
	}
	return m, nil
}

// seed writes a made-up shop's holds.
func (c *demoCmd) seed(ctx context.Context, a app, told config.Config) (status, error) {
	if c.Flags.Ledger == "" {
		return usage, &usageError{err: errors.New("--seed-only needs --ledger FILE: it writes nowhere else")}
	}
	n, err := seedLedger(ctx, told.Ledger)
	if err != nil {
		return failed, fmt.Errorf("write the made-up shop: %w", err)
	}
	fmt.Fprintf(a.out, "%d holds in %s\n", n, told.Ledger)
	return done, nil
}
