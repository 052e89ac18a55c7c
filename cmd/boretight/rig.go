package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"boretight/internal/bench"
	"boretight/internal/bench/guided"
	"boretight/internal/config"
	"boretight/internal/quantity"
	"boretight/internal/rig"
)

// rigCmd is the commands that measure the rig, each in its own file.
type rigCmd struct {
	Blank  rigBlankCmd  `cmd:"" help:"Measure the rig alone: what it leaks and what it holds."`
	Volume rigVolumeCmd `cmd:"" help:"Measure or compute the volume of a joint."`
	Check  rigCheckCmd  `cmd:"" help:"Check the rig with a reference leak."`
	Prove  rigProveCmd  `cmd:"" help:"Prove the rig with a reference leak on bottles."`
	Show   rigShowCmd   `cmd:"" help:"Show what is known of the rig, and whether it holds."`
}

// rigFlags are what all that measures a rig is told of it and of the room.
type rigFlags struct {
	Config      string                `group:"bench" type:"path" placeholder:"FILE" help:"Configuration, for what no flag tells of rig, room and ledger; the usual one when not given."`
	Ledger      string                `group:"bench" placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	Rig         config.Rig            `embed:""`
	Ambient     *quantity.Pressure    `group:"measure" placeholder:"98.3kPa" help:"Pressure in the room, not reduced to sea level; 101.325 ± 3 kPa when not told."`
	Temperature *quantity.Temperature `group:"measure" placeholder:"22.5C" help:"Temperature of the room; the gauge's, or 20 ± 5 °C, when not told."`
	At          *quantity.Pressure    `group:"measure" placeholder:"2.5kPa" help:"Pressure difference that rates are stated at; 2.5kPa, or that of the certificate, when not told."`
	Bore        *quantity.Length      `group:"measure" placeholder:"9mm" help:"Mean inner diameter, for the heat; a wide guess when not told."`
	Valid       *config.Validity      `group:"bench" placeholder:"TIME" help:"For how long it counts: hours, days or weeks such as 12h, 30d, 2w, or never; when not told a volume 365d, a blank 30d, a check 1d, a proof 180d."`
	JSON        bool                  `name:"json" help:"Print the record as one JSON object."`
}

// settled returns the flags over the configuration's file, checked.
func (f rigFlags) settled() (rigFlags, config.Config, error) {
	told, err := config.Load(f.Config)
	if err != nil {
		return f, told, &usageError{err: err}
	}
	m := config.Measure{Ambient: f.Ambient, Temperature: f.Temperature, At: f.At, Bore: f.Bore}
	if err := errors.Join(m.Validate(), f.Rig.Validate()); err != nil {
		return f, told, &usageError{err: err}
	}
	f.Rig = f.Rig.Over(told.Rig)
	f.Ledger = cmp.Or(f.Ledger, told.Ledger)
	f.Ambient = cmp.Or(f.Ambient, told.Measure.Ambient)
	f.Temperature = cmp.Or(f.Temperature, told.Measure.Temperature)
	return f, told, nil
}

// told returns what a procedure is told.
func (f rigFlags) told() guided.Told {
	s := config.Measure{Ambient: f.Ambient, Temperature: f.Temperature, At: f.At, Bore: f.Bore}.Setup()
	return guided.Told{
		Rig:         rig.Identity{Hose: f.Rig.Hose, Stoppers: f.Rig.Stoppers, Valve: f.Rig.Valve},
		At:          s.At,
		Bore:        rig.Measured(s.Bore),
		Ambient:     rig.Measured(s.Ambient),
		Temperature: rig.Measured(s.Temperature),
	}
}

// due returns until when what is measured now counts; usual is for how long when that
// was not told.
func (f rigFlags) due(now time.Time, usual config.Validity) time.Time {
	if f.Valid != nil {
		usual = *f.Valid
	}
	return usual.Until(now)
}

// For how long records count when that is not told. Common practice, no source.
const (
	days             = config.Validity(24 * time.Hour)
	calibrationValid = 365 * days
	blankValid       = 30 * days
	volumeValid      = 365 * days
	checkValid       = 1 * days
	proofValid       = 180 * days
)

// measuredOf is a volume told with its uncertainty, 5 % when that was not told.
func measuredOf(v quantity.Volume, u *quantity.Spread[quantity.Volume]) rig.Measured {
	s := config.Measure{Volume: &v, VolumeU: u}.Setup()
	return rig.Measured(s.Volume)
}

// book opens the ledger and reads what it holds of rigs.
func (f rigFlags) book(ctx context.Context) (*book, []rig.Record, error) {
	b, err := openBook(ctx, f.Ledger, slog.New(slog.DiscardHandler))
	if err != nil {
		return nil, nil, err
	}
	records, err := rigRecords(ctx, b.store)
	if err != nil {
		return nil, nil, errors.Join(err, b.close())
	}
	return b, records, nil
}

// calibration returns that of a gauge that holds now, nil when there is none, and what
// is to be said of the one on record.
func calibration(records []rig.Record, serial string, now time.Time) (c *rig.Calibration, says string) {
	held := rig.NewStanding(now, rig.Subject{Rig: rig.Identity{Gauge: serial}}, records...).Calibration
	switch {
	case held.State == rig.Missing:
		return nil, ""
	case !held.Holds():
		return nil, held.Says
	}
	return held.Record.Calibration, held.Says
}

// benchSettings are what the bench judges the procedure's holds against: only for the
// ledger, as the procedure fits them itself.
func benchSettings(t guided.Told, setup bench.Setup) bench.Settings {
	setup.At = t.Fit().At
	return bench.Settings{Setup: setup, Fit: t.Fit(), Rig: t.Rig}
}

// finish keeps what was measured and prints it.
func (f rigFlags) finish(ctx context.Context, a app, b *book, r rig.Record, usual config.Validity) error {
	r.ValidFrom = time.Now().UTC().Truncate(time.Second)
	r.ValidUntil = f.due(r.ValidFrom, usual)
	if r.Volume != nil {
		v := quantity.Volume(r.Volume.Value)
		r.Notes = append(r.Notes, config.Measure{Volume: &v}.Doubts()...)
	}
	r, err := keepRig(context.WithoutCancel(ctx), b.store, r)
	if err != nil {
		return err
	}
	if f.JSON {
		return printJSON(a.out, rigLine{schemaRig, r})
	}
	return printRig(a.out, r)
}

// refusalStatus is the exit status that goes with an error: of what was measured but
// says nothing it is 4.
func refusalStatus(err error) status {
	_, nothing := errors.AsType[*rig.Refusal](err)
	_, wrong := errors.AsType[*usageError](err)
	switch {
	case wrong:
		return usage
	case nothing, errors.Is(err, errStopped):
		return undecided
	}
	return failed
}

// errStopped is returned when a person ended a procedure before it was complete.
var errStopped = errors.New("stopped before it was complete: nothing was recorded of the rig")

func incomplete(next string) error {
	return fmt.Errorf("the gauge has ended before the procedure was complete; next would have been: %s", next)
}
