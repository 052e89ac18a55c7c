package main

import (
	"context"
	"fmt"
	"slices"

	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/web"
)

// FindGauges implements [web.SetupDesk].
func (d *desk) FindGauges(context.Context) error {
	d.page.search.begin()
	return nil
}

// Search implements [web.SetupDesk].
func (d *desk) Search() web.Search { return d.page.search.now() }

// UseGauge implements [web.SetupDesk].
func (d *desk) UseGauge(_ context.Context, name, address string) error {
	told := name + "=" + address
	if _, err := gauge.ParseAddress(told); err != nil {
		return &web.Fault{Field: "name", Says: said(err)}
	}
	return d.changeGauges(func(gauges []string) ([]string, error) {
		if slices.ContainsFunc(gauges, called(name)) {
			return nil, &web.Fault{Field: "name", Says: fmt.Sprintf("There is a gauge called %q on the bench: take another name.", name)}
		}
		return append(gauges, told), nil
	})
}

// DropGauge implements [web.SetupDesk].
func (d *desk) DropGauge(_ context.Context, name string) error {
	return d.changeGauges(func(gauges []string) ([]string, error) {
		left := slices.DeleteFunc(slices.Clone(gauges), called(name))
		switch {
		case len(left) == len(gauges):
			return nil, &web.Fault{Says: fmt.Sprintf("There is no gauge %q in the settings.", name)}
		case len(left) == 0:
			return nil, &web.Fault{Says: "This is the only gauge: find another one first, for a bench without one has nothing to show."}
		}
		return left, nil
	})
}

// changeGauges changes the gauges of the settings file, and those of this run where they
// were told at its start, which counts more than the file: neither list becomes the other.
func (d *desk) changeGauges(edit func([]string) ([]string, error)) error {
	d.setting.Lock()
	defer d.setting.Unlock()
	kept, err := d.kept()
	if err != nil {
		return err
	}
	gauges, err := edit(d.real(kept.Gauges))
	if err != nil {
		return err
	}
	run := func(to []string) func(*config.Config) { return func(c *config.Config) { c.Gauges = to } }
	switch {
	case d.page.file == "":
		return d.change(nil, run(gauges))
	case !d.page.gaugesGiven:
		return d.change([]config.Change{config.Set("gauges", gauges)}, nil)
	}
	present, err := edit(slices.Clone(d.told.Gauges))
	if err != nil {
		return err
	}
	return d.change([]config.Change{config.Set("gauges", gauges)}, run(present))
}

// real are the gauges told; simulated ones of a demo give way to those.
func (d *desk) real(told []string) []string {
	gauges := slices.Clone(told)
	if d.page.file != "" || !d.page.simulated {
		return gauges
	}
	return slices.DeleteFunc(gauges, func(g string) bool {
		a, err := gauge.ParseAddress(g)
		return err == nil && a.Scheme == gauge.Sim
	})
}

// called tells whether a gauge told as [NAME=]ADDRESS has a name.
func called(name string) func(told string) bool {
	return func(told string) bool {
		a, err := gauge.ParseAddress(told)
		return err == nil && a.Label() == name
	}
}
