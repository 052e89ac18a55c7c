package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"time"

	"boretight/internal/bench"
	"boretight/internal/bench/guided"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/quantity"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

type calibrateCmd struct {
	Gauge  string      `group:"bench" placeholder:"[NAME=]ADDRESS" help:"Where the gauge is; boretight ports lists addresses."`
	Pairs  string      `group:"bench" type:"path" placeholder:"FILE" help:"Pairs from a file in place of a gauge: CSV with reference_pa and reading_pa, and maybe reference_u_pa, reading_u_pa, course."`
	Serial string      `group:"bench" placeholder:"HX-0417" help:"With --pairs: serial number of the gauge."`
	Config string      `group:"bench" type:"path" placeholder:"FILE" help:"Configuration, for ledger and room; the usual one when not given."`
	Ledger string      `group:"bench" placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	Column columnFlags `embed:""`

	Reference        bool               `group:"measure" help:"Pressures of a reference gauge are typed, not heights of water."`
	ReferenceU       *quantity.Ratio    `name:"reference-u" group:"measure" placeholder:"0.05%" help:"Standard uncertainty of the reference's scale; 0.05% when not told."`
	ReferenceOffsetU *quantity.Pressure `name:"reference-offset-u" group:"measure" placeholder:"1Pa" help:"Standard uncertainty of the reference's zero; 1Pa when not told."`

	Valid *config.Validity `group:"bench" placeholder:"365d" help:"For how long it counts: hours, days or weeks such as 12h, 30d, 2w, or never."`
	JSON  bool             `name:"json" help:"Print the record as one JSON object."`
}

// columnFlags tell of the water column.
type columnFlags struct {
	Water     *quantity.Temperature                  `group:"measure" placeholder:"21.3C" help:"Temperature of the water; 20 ± 3 °C when not told."`
	WaterU    *quantity.Spread[quantity.Temperature] `name:"water-u" group:"measure" placeholder:"0.2K" help:"Standard uncertainty of that; 0.5 K when not told."`
	Ambient   *quantity.Pressure                     `group:"measure" placeholder:"98.3kPa" help:"Pressure in the room; it hardly matters."`
	Latitude  *float64                               `group:"measure" placeholder:"52.1" help:"Latitude in degrees, for gravity; anywhere on Earth when not told."`
	Altitude  *quantity.Length                       `group:"measure" placeholder:"40m" help:"Height above the sea."`
	ReadU     quantity.Length                        `name:"read-u" default:"0.3mm" group:"measure" placeholder:"0.3mm" help:"Standard uncertainty of reading one level."`
	MeniscusU quantity.Length                        `name:"meniscus-u" default:"0.2mm" group:"measure" placeholder:"0.2mm" help:"Standard uncertainty of the difference of the two menisci."`
	RulerU    quantity.Ratio                         `name:"ruler-u" default:"0.02%" group:"measure" placeholder:"0.02%" help:"Standard uncertainty of the ruler's scale."`
	PurityU   quantity.Ratio                         `name:"purity-u" default:"0.02%" group:"measure" placeholder:"0.02%" help:"Standard uncertainty of the water's density beside its temperature."`
	Lean      float64                                `default:"1" group:"measure" placeholder:"1" help:"The most that the ruler may lean, in degrees."`
}

// Help shows an example.
func (calibrateCmd) Help() string {
	return `Examples:
  boretight calibrate --gauge serial:COM5 --water 21.3C --latitude 52.1 --altitude 40m
  boretight calibrate --gauge serial:COM5 --reference --reference-u 0.05%
  boretight calibrate --pairs pairs.csv --serial HX-0417

Set the column to a height, wait until the water is still and type it with its unit, such
as 250mm up or -100mm down: negative for suction, up or down (may be left out) for the
side it was reached from. The mean of the last two seconds counts. done, or the end of
the input, ends it. Three heights are needed; six or more, up and down, are better.`
}

func (c *calibrateCmd) run(ctx context.Context, a app) (status, error) {
	flags, configured, err := rigFlags{Config: c.Config, Ledger: c.Ledger, Ambient: c.Column.Ambient, Valid: c.Valid, JSON: c.JSON}.settled()
	if err == nil {
		err = c.validate()
	}
	if err != nil {
		return usage, err
	}
	if c.Pairs != "" {
		return c.fromFile(ctx, a, flags)
	}
	scale, notes := c.scale(flags.Ambient)
	var earlier []rig.Record
	return guide{
		app: a, flags: flags, usual: calibrationValid, quiet: true, setup: bench.Setup{Bench: configured.Bench, Section: "calibration"},
		begin: func(t guided.Told, id gauge.Identity, records []rig.Record) (guided.Procedure, error) {
			earlier = records
			return guided.NewCalibration(t, gaugeOf(id), id.Kind, scale), nil
		},
		finish: func(r *rig.Record) { r.Notes = append(append(notes, r.Notes...), doubtsOf(*r, earlier)...) },
	}.run(ctx, c.Gauge, configured)
}

func (c *calibrateCmd) validate() error {
	var faults []error
	check := func(ok bool, format string, args ...any) {
		if !ok {
			faults = append(faults, fmt.Errorf(format, args...))
		}
	}
	check(c.Pairs == "" || c.Gauge == "", "--pairs and --gauge: give one of them")
	check(c.Serial == "" || c.Pairs != "", "--serial: a gauge says itself who it is; it is for --pairs alone")
	check(c.Pairs == "" || c.Serial != "", "--pairs: tell whose they are with --serial")
	check(!c.Reference || c.Column.Water == nil, "--reference and --water: give one of them")
	check(c.ReferenceU == nil || *c.ReferenceU >= 0 && *c.ReferenceU < 0.5, "--reference-u: want 0 or more, below a half")
	check(c.ReferenceOffsetU == nil || *c.ReferenceOffsetU >= 0 && *c.ReferenceOffsetU < 1e4, "--reference-offset-u: want 0 or more, below 10 kPa")
	if !c.Reference && c.Pairs == "" {
		column, _ := c.Column.told(c.Column.Ambient)
		check(c.Column.Latitude != nil || c.Column.Altitude == nil, "--altitude: gravity needs --latitude too")
		if err := column.Validate(); err != nil {
			faults = append(faults, err)
		}
	}
	if err := errors.Join(faults...); err != nil {
		return &usageError{err: err}
	}
	return nil
}

// scale is what heights or pressures are typed of, with what was assumed.
func (c *calibrateCmd) scale(ambient *quantity.Pressure) (guided.Scale, []string) {
	if c.Reference {
		common, notes := c.common()
		return guided.Scale{Common: common}, notes
	}
	column, notes := c.Column.told(ambient)
	return guided.Scale{Column: &column}, notes
}

// common is what all readings of a reference gauge share, with what was assumed.
func (c *calibrateCmd) common() (common []rig.Common, notes []string) {
	scale, zero := quantity.Ratio(5e-4), quantity.Pressure(1)
	if c.ReferenceU == nil {
		notes = append(notes, "The uncertainty of the reference's scale was not told: 0.05 % was assumed.")
	} else {
		scale = *c.ReferenceU
	}
	if c.ReferenceOffsetU != nil {
		zero = *c.ReferenceOffsetU // it moves the line, which no hold minds
	}
	return []rig.Common{
		{Source: "scale of the reference", Relative: float64(scale)},
		{Source: "zero of the reference", Offset: float64(zero)},
	}, notes
}

// told returns the column, with what was assumed of it.
func (f columnFlags) told(ambient *quantity.Pressure) (rig.Column, []string) {
	var notes []string
	c := rig.Column{
		Temperature: rig.Measured{Value: 293.15, U: 3},
		Ambient:     rig.Measured{Value: 101325, U: 3000},
		ReadU:       float64(f.ReadU), MeniscusU: float64(f.MeniscusU), RulerU: float64(f.RulerU), WaterU: float64(f.PurityU),
		Lean: f.Lean * math.Pi / 180,
	}
	switch {
	case f.Water == nil:
		notes = append(notes, "The water's temperature was not told: 20 °C ± 3 °C was assumed.")
	case f.WaterU == nil:
		c.Temperature = rig.Measured{Value: float64(*f.Water), U: 0.5}
	default:
		c.Temperature = rig.Measured{Value: float64(*f.Water), U: float64(f.WaterU.Of(*f.Water))}
	}
	if ambient != nil {
		c.Ambient = rig.Measured{Value: float64(*ambient), U: 100}
	}
	if f.Latitude == nil {
		notes = append(notes, "The latitude was not told: gravity is that of anywhere on Earth, 0.15 % uncertain.")
		return c, notes
	}
	c.Place = rig.Place{Latitude: *f.Latitude, Told: true}
	if f.Altitude != nil {
		c.Place.Height = float64(*f.Altitude)
	}
	return c, notes
}

// gaugeOf is what a gauge states of itself.
func gaugeOf(id gauge.Identity) rig.Gauge {
	g := rig.Gauge{Min: id.MinPa, Max: id.MaxPa, Resolution: id.ResolutionPa}
	if id.Kind == trace.Absolute {
		g.Min, g.Max = 0, 0 // of absolute pressures, which say nothing of differences
	}
	return g
}

// fromFile calibrates with pairs that were taken before.
func (c *calibrateCmd) fromFile(ctx context.Context, a app, flags rigFlags) (status, error) {
	file, err := os.Open(c.Pairs)
	if err != nil {
		return failed, fmt.Errorf("read pairs: %w", err)
	}
	defer file.Close()
	pairs, err := readPairs(file)
	if err != nil {
		return failed, fmt.Errorf("read pairs: %s: %w", c.Pairs, err)
	}
	common, notes := c.common()
	calibration, err := rig.Calibrate(rig.Gauge{}, pairs, common...)
	if err != nil {
		return refusalStatus(err), err
	}
	book, earlier, err := flags.book(ctx)
	if err != nil {
		return failed, err
	}
	record := rig.Record{Kind: rig.KindCalibration, Rig: rig.Identity{Gauge: c.Serial}, Notes: append(notes, calibration.Doubts...), Calibration: &calibration}
	record.Notes = append(record.Notes, doubtsOf(record, earlier)...)
	err = flags.finish(ctx, a, book, record, calibrationValid)
	return done, errors.Join(err, book.close())
}

// doubtsOf says what a calibration leaves open, and whether it is worse than the one that
// it takes the place of.
func doubtsOf(r rig.Record, earlier []rig.Record) (doubts []string) {
	if open := r.Calibration.OneSided(); open != "" {
		doubts = append(doubts, open)
	}
	old, _ := calibration(earlier, r.Rig.Gauge, time.Now())
	if old == nil || r.Calibration.SpanU() <= 1.5*old.SpanU() {
		return doubts
	}
	return append(doubts, fmt.Sprintf("It says the span to ± %.2g %%, worse than the calibration that it takes the place of (± %.2g %%): take more heights, up and down.",
		200*r.Calibration.SpanU(), 200*old.SpanU()))
}
