package main

import (
	"context"
	"errors"
	"sync"
	"time"

	"boretight/internal/bench"
	"boretight/internal/bench/guided"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/rig"
)

// guide leads one procedure at one gauge.
type guide struct {
	app   app
	flags rigFlags
	// usual is for how long the record counts when that was not told.
	usual config.Validity
	// setup says in the ledger what the holds are of.
	setup bench.Setup
	// begin makes the procedure once it is known which gauge it is, from what is told
	// and from what is on record.
	begin func(t guided.Told, id gauge.Identity, records []rig.Record) (guided.Procedure, error)
	// quiet leaves out what the bench makes of the pressure: heights of a column are no holds.
	quiet bool
	// finish adds to the procedure's record; may be nil.
	finish func(r *rig.Record)
}

// run measures at the gauge with an address, keeps the record and prints it.
func (g guide) run(ctx context.Context, address string, configured config.Config) (status, error) {
	source, err := g.open(address, configured)
	if err != nil {
		return failed, err
	}
	book, records, err := g.flags.book(ctx)
	if err != nil {
		return failed, err
	}
	record, err := g.measure(ctx, source, book, records)
	if err != nil {
		return refusalStatus(err), errors.Join(err, book.close())
	}
	if g.finish != nil {
		g.finish(&record)
	}
	err = g.flags.finish(ctx, g.app, book, record, g.usual)
	return statusOfRig(record), errors.Join(err, book.close())
}

// open returns the gauge told, or the only one configured.
func (g guide) open(told string, configured config.Config) (gauge.Gauge, error) {
	if told == "" {
		if len(configured.Gauges) != 1 {
			return nil, &usageError{err: errors.New("no gauge given"), hint: "name one with --gauge; boretight ports lists them"}
		}
		told = configured.Gauges[0]
	}
	address, err := gauge.ParseAddress(told)
	if err != nil {
		return nil, &usageError{err: err, hint: "see boretight ports for addresses"}
	}
	return gauge.Open(address, gauge.Options{})
}

// measure runs a bench of the gauge with the procedure as its follower.
func (g guide) measure(ctx context.Context, source gauge.Gauge, book *book, records []rig.Record) (rig.Record, error) {
	conductor := guided.NewConductor(time.Now)
	b, err := bench.New(bench.Options{
		Sources:    []bench.Source{{Name: source.Address().Label(), Gauge: source}},
		Recorder:   book.writer,
		LedgerPath: book.path,
		NeedGauges: true,
		Settings:   benchSettings(g.flags.told(), g.setup),
		Follower:   conductor,
	})
	if err != nil {
		return rig.Record{}, err
	}
	talk := &talk{progress: newProgress(g.app), quiet: g.quiet}
	if g.flags.Ambient == nil && !g.quiet { // what a column says hardly hangs on it
		talk.progress.say(untoldAmbient)
	}
	events := b.Subscribe(holdEvents)
	running, stop := context.WithCancel(ctx)
	defer stop()
	var group sync.WaitGroup
	var benchErr, eventsErr error
	group.Go(func() { defer stop(); benchErr = b.Run(running) })
	group.Go(func() { defer stop(); eventsErr = talk.follow(events) })

	led := &leading{guide: g, source: source, records: records}
	procedure, err := conductor.Run(running, guided.Lead{Begin: led.begin, Lines: readLines(running, g.app.in), Say: func(r guided.Reply, next string) {
		talk.await(led.moment())
		talk.reply(r, next)
	}})
	stop()
	group.Wait()
	talk.finish(source.Stats())
	switch err := errors.Join(err, benchErr, eventsErr); {
	case err != nil:
		return rig.Record{}, err
	case procedure == nil && ctx.Err() == nil:
		return rig.Record{}, errors.New("the gauge has ended before the procedure could begin: it gave no reading, or had not said who it is")
	case procedure == nil || !procedure.Done() && ctx.Err() != nil:
		return rig.Record{}, errStopped
	case !procedure.Done():
		return rig.Record{}, incomplete(procedure.Next())
	}
	return procedure.Record()
}

// untoldAmbient is said before anything is drawn: afterwards it is too late.
const untoldAmbient = "The room's pressure is not told, so that a volume by a syringe will be known to 3 % only, and a reference leak's rate hardly better. " +
	"Read a barometer here, not reduced to sea level, and tell --ambient 98.3kPa; an absolute gauge says it itself."
