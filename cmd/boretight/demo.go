package main

import (
	"context"
	"errors"
	"fmt"

	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/gauge/sim"
	"boretight/internal/quantity"
)

type demoCmd struct {
	SeedOnly bool       `help:"Write the made-up shop, tickets and holds, into --ledger and exit."`
	Flags    benchFlags `embed:""`
}

// Help shows an example.
func (demoCmd) Help() string {
	return `Example:
  boretight demo

A simulated gauge measures a simulated oboe joint, again and again: as found, half
seated and as left; the tickets of a made-up shop are there to look at. A fresh ledger in
the folder of temporary files takes the holds and is removed at the end; --ledger FILE
keeps it, without the made-up shop, which --seed-only writes. All flags of boretight serve work here.`
}

// What the demo shows when no gauge is given.
const (
	demoGauge  = "oboe-upper"
	demoDevice = "oboe-repair"
)

// demoGauges are the gauges of a demo that was told none.
func demoGauges() []string { return []string{demoGauge + "=sim:" + demoDevice} }

// demoJoint is what the demo's own gauge holds.
const demoJoint = "oboe/upper"

// demoLimit lies between what the demo's joint leaks as found and as left.
const demoLimit = "2.5sccm"

func (c *demoCmd) run(ctx context.Context, a app) (status, error) {
	c.forgetShop(a)
	if c.SeedOnly {
		r, err := c.next(unchanged)
		if err != nil {
			return failed, err
		}
		return c.seed(ctx, a, r.told)
	}
	return done, newServer(a, c.Flags.Open, c.next).run(ctx)
}

// unchanged is for who changes nothing.
func unchanged(c config.Config) config.Config { return c }

// next returns what the next bench is told.
func (c *demoCmd) next(change func(config.Config) config.Config) (round, error) {
	told, err := c.config(change)
	if err != nil {
		return round{}, err
	}
	if err := told.Validate(); err != nil {
		return round{}, &usageError{err: err}
	}
	r := round{told: told, simulated: true}
	if c.Flags.Measure == (config.Measure{}) { // else it was told, of all of them
		if r.measures, err = measures(told); err != nil {
			return round{}, err
		}
	}
	if name := repaired(told.Gauges); name != "" && c.Flags.Labels == (config.Labels{}) {
		r.joint = &repair{gauge: name}
	}
	return r, nil
}

// repaired is the name of the gauge when there is but one, and that of a joint that can be
// worked on.
func repaired(gauges []string) string {
	if len(gauges) != 1 {
		return ""
	}
	a, err := gauge.ParseAddress(gauges[0])
	if err != nil || a.Scheme != gauge.Sim || a.Target != demoDevice {
		return ""
	}
	return a.Label()
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
func (c *demoCmd) config(change func(config.Config) config.Config) (config.Config, error) {
	told := config.Default()
	told.Bench = "demo"
	told.Gauges = demoGauges()
	if len(c.Flags.Gauge) == 0 || repaired(c.Flags.Gauge) != "" {
		told.Labels = config.Labels{Joint: demoJoint}
	}
	told = change(c.Flags.over(told))
	addresses, err := told.Addresses()
	if err == nil && len(addresses) == 0 {
		err = errors.New("no gauge given")
	}
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

// measures are what a repairer would tell of each gauge's joint, where there are several.
func measures(told config.Config) (map[string]config.Measure, error) {
	addresses, err := told.Addresses()
	if err != nil || len(addresses) < 2 {
		return nil, err
	}
	all := make(map[string]config.Measure)
	for _, a := range addresses {
		m, err := demoMeasure(a)
		if err != nil {
			return nil, err
		}
		m.Limit = told.Measure.Limit
		all[a.Label()] = m
	}
	return all, nil
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
