package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"boretight/internal/air"
	"boretight/internal/bench"
	"boretight/internal/bench/guided"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/quantity"
	"boretight/internal/rig"
)

type rigVolumeCmd struct {
	Gauge     string           `group:"bench" placeholder:"[NAME=]ADDRESS" help:"Where the gauge is; boretight ports lists addresses."`
	Joint     string           `required:"" group:"labels" placeholder:"oboe/upper" help:"What is measured, as INSTRUMENT/JOINT."`
	Section   string           `group:"labels" placeholder:"NAME" help:"Stretch of the joint that is measured apart."`
	Closure   string           `group:"labels" placeholder:"NAME" help:"What is plugged, taped or pressed, under a short name of yours."`
	Syringe   syringeFlags     `embed:""`
	Steps     int              `default:"3" group:"bench" help:"With --syringe: how many steps to take."`
	StaysOpen bool             `group:"measure" help:"The syringe stays open to the bore in holds, its plunger where the step left it."`
	Leak      leakFlags        `embed:""`
	Holds     int              `default:"3" group:"bench" help:"With --certificate: how many holds without the leak, and with it."`
	Length    *quantity.Length `group:"measure" placeholder:"310mm" help:"Length of the bore, to compute the volume without a gauge, from --bore."`
	Wide      *quantity.Length `group:"measure" placeholder:"11mm" help:"With --length: the bore's diameter at its other end, if it tapers."`
	Flags     rigFlags         `embed:""`
}

// leakFlags tell of a reference leak.
type leakFlags struct {
	Certificate string                            `group:"measure" type:"path" placeholder:"FILE" help:"Certificate of the reference leak (TOML)."`
	LeakVolume  *quantity.Volume                  `group:"measure" placeholder:"0.3ml" help:"What leak and fitting hold; as the certificate says when not told."`
	LeakVolumeU *quantity.Spread[quantity.Volume] `name:"leak-volume-u" group:"measure" placeholder:"20%" help:"Standard uncertainty of that; 20% when not told."`
}

// load reads the certificate.
func (f leakFlags) load() (config.Certificate, error) {
	c, err := config.LoadCertificate(f.Certificate)
	if err != nil {
		return c, &usageError{err: err}
	}
	if f.LeakVolume != nil {
		v := float64(*f.LeakVolume)
		c.Dead = rig.Measured{Value: v, U: 0.2 * v}
		if f.LeakVolumeU != nil {
			c.Dead.U = float64(f.LeakVolumeU.Of(*f.LeakVolume))
		}
	}
	if c.Dead.Value == 0 {
		c.Notes = append(c.Notes, "No dead volume of the reference leak was told: none was taken.")
	}
	return c, nil
}

// Help shows an example.
func (rigVolumeCmd) Help() string {
	return `Examples:
  boretight rig volume --joint oboe/upper --gauge serial:COM5 --syringe 0.2ml --syringe-u 0.5%
  boretight rig volume --joint oboe/upper --gauge serial:COM5 --certificate RL-7.toml
  boretight rig volume --joint oboe/upper --bore 9mm --wide 11mm --length 310mm

By syringe: draw a little, shut the valve, wait, pull the plunger, wait, vent. By reference
leak: holds of the joint alone, then as many with the leak open. By the bore: no gauge; good
to 15 %, and what the rig holds is added from its blank. What to do next is said on
standard error; type back to take the last one away.`
}

func (c *rigVolumeCmd) run(ctx context.Context, a app) (status, error) {
	flags, configured, err := c.Flags.settled()
	if err == nil {
		err = c.validate()
	}
	if err != nil {
		return usage, err
	}
	labels := config.Labels{Joint: c.Joint, Section: c.Section, Closure: c.Closure}
	setup := bench.Setup{Bench: configured.Bench, Instrument: labels.Instrument(), Joint: labels.JointOf(), Section: c.Section, Closure: c.Closure}
	lead := guide{app: a, flags: flags, usual: volumeValid, setup: setup}
	switch {
	case c.Length != nil:
		return c.byBore(ctx, a, flags, setup.Subject())
	case c.Syringe.Syringe != nil:
		lead.begin = func(t guided.Told, _ gauge.Identity, _ []rig.Record) (guided.Procedure, error) {
			t.Joint = setup.Subject()
			s := c.Syringe.told()
			s.StaysOpen = c.StaysOpen
			return guided.NewVolume(t, s, c.Steps)
		}
	default:
		leak, err := c.Leak.load()
		if err != nil {
			return usage, err
		}
		lead.begin = func(t guided.Told, _ gauge.Identity, _ []rig.Record) (guided.Procedure, error) {
			t.Joint = setup.Subject()
			return guided.NewAddedLeak(t, leak.Certificate, leak.Dead, c.Holds)
		}
		lead.finish = func(r *rig.Record) { r.Notes = append(r.Notes, leak.Notes...) }
	}
	return lead.run(ctx, c.Gauge, configured)
}

func (c *rigVolumeCmd) validate() error {
	ways := 0
	for _, told := range []bool{c.Syringe.Syringe != nil, c.Leak.Certificate != "", c.Length != nil} {
		if told {
			ways++
		}
	}
	var faults []error
	fault := func(wrong bool, text string) {
		if wrong {
			faults = append(faults, errors.New(text))
		}
	}
	fault(ways == 0, "none of --syringe, --certificate and --length is given: tell how the volume is to be found")
	fault(ways > 1, "more than one of --syringe, --certificate and --length is given: tell one way to find the volume")
	fault(c.Steps < 1, "--steps: want at least 1")
	fault(c.Holds < 1, "--holds: want at least 1")
	fault(c.StaysOpen && c.Syringe.Syringe == nil, "--stays-open is of a syringe: tell its step with --syringe")
	fault(c.StaysOpen && c.Syringe.Dead != nil, "--stays-open and --dead: the syringe either stays open in holds or is shut off")
	fault(c.Leak.LeakVolume != nil && c.Leak.Certificate == "", "--leak-volume is of a reference leak: tell it with --certificate")
	fault(c.Length != nil && c.Gauge != "", "--length and --gauge: the bore's volume is computed, not measured; leave one out")
	fault(c.Length != nil && c.Flags.Bore == nil, "--length: tell the diameter with --bore")
	fault(c.Length == nil && c.Wide != nil, "--wide: tell the length with --length")
	fault(c.Length != nil && !(*c.Length > 0.01 && *c.Length < 10), "--length: want from 10 mm to 10 m")
	fault(c.Wide != nil && !(*c.Wide > 1e-4 && *c.Wide < 0.5), "--wide: want from 0.1 mm to 500 mm")
	labels := config.Labels{Joint: c.Joint, Section: c.Section, Closure: c.Closure}
	faults = append(faults, labels.Validate())
	if err := errors.Join(faults...); err != nil {
		return &usageError{err: err}
	}
	return c.Syringe.validate()
}

// byBore computes the volume of the bore and adds the rig's, if that is on record.
func (c *rigVolumeCmd) byBore(ctx context.Context, a app, flags rigFlags, joint string) (status, error) {
	taper := air.Taper{Length: float64(*c.Length), From: float64(*c.Flags.Bore), To: float64(*c.Flags.Bore)}
	if c.Wide != nil {
		taper.To = float64(*c.Wide)
	}
	volume, err := rig.BoreVolume(taper)
	if err != nil {
		return refusalStatus(err), err
	}
	book, records, err := flags.book(ctx)
	if err != nil {
		return failed, err
	}
	record := rig.Record{Kind: rig.KindVolume, Joint: joint, Rig: flags.told().Rig, Volume: &volume}
	blank := blankOfParts(records, record.Rig, time.Now())
	switch {
	case ambiguous(records, record.Rig):
		record.Notes = append(record.Notes, "Several rigs are on record, and not one is named by --hose, --stoppers and --valve alone: "+leftOut)
	case blank.Holds():
		*record.Volume = volume.WithRig(blank.Record.Blank.Volume)
		record.Rig = blank.Record.Rig
	default:
		record.Notes = append(record.Notes, withoutRig(blank))
	}
	record.Notes = append(record.Notes, record.Volume.Doubts...)
	err = flags.finish(ctx, a, book, record, volumeValid)
	return done, errors.Join(err, book.close())
}

// blankOfParts returns how the newest blank stands of a rig with these hose, stoppers and
// valve, whatever its gauge.
func blankOfParts(records []rig.Record, parts rig.Identity, now time.Time) rig.Held {
	for _, r := range slices.Backward(records) {
		parts.Gauge = r.Rig.Gauge
		if r.Blank != nil && len(parts.Changed(r.Rig)) == 0 {
			return rig.NewStanding(now, rig.Subject{Rig: r.Rig}, r).Blank
		}
	}
	return rig.Held{State: rig.Missing}
}

// ambiguous reports whether blanks of several rigs are on record that these parts may be
// of; where no part is named, any of them may be meant.
func ambiguous(records []rig.Record, parts rig.Identity) bool {
	named, rigs := parts != rig.Identity{}, map[rig.Identity]bool{}
	for _, r := range records {
		parts.Gauge = r.Rig.Gauge
		if r.Blank != nil && (!named || len(parts.Changed(r.Rig)) == 0) {
			rigs[r.Rig] = true
		}
	}
	return len(rigs) > 1
}

// leftOut says what a volume of the joint alone leaves out.
const leftOut = "what hose, stoppers and gauge hold is not in the volume."

// withoutRig says why what the rig holds is not in a volume.
func withoutRig(blank rig.Held) string {
	if blank.State == rig.Overdue {
		r := blank.Record
		return fmt.Sprintf("The blank of this rig of %s is overdue since %s: %s", r.ValidFrom.Format(time.DateOnly), r.ValidUntil.Format(time.DateOnly), leftOut)
	}
	return "No blank of this rig is on record: " + leftOut
}
