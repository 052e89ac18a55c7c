package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"boretight/internal/bench"
	"boretight/internal/bench/guided"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/hold"
	"boretight/internal/rig"
	"boretight/internal/trace"
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
	events := b.Subscribe(holdEvents)
	running, stop := context.WithCancel(ctx)
	defer stop()
	var group sync.WaitGroup
	var benchErr, eventsErr error
	group.Go(func() { defer stop(); benchErr = b.Run(running) })
	group.Go(func() { defer stop(); eventsErr = talk.follow(events) })

	led := &leading{guide: g, source: source, records: records}
	procedure, err := conductor.Run(running, guided.Lead{Begin: led.begin, Lines: readLines(running, g.app.in), Say: talk.reply})
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

// leading makes the procedure.
type leading struct {
	guide   guide
	source  gauge.Gauge
	records []rig.Record
	heard   time.Time // the first reading
}

// nameWithin is how long the name of a gauge is waited for that can say it: it does so
// every 5 s, asked or not. A gauge that streams is heard before it has answered.
const nameWithin = 6 * time.Second

func (l *leading) begin() (guided.Procedure, error) {
	if l.heard.IsZero() {
		l.heard = time.Now()
	}
	id := l.source.Stats().Identity
	if !id.Known && l.source.Address().Dialect != gauge.Text && time.Since(l.heard) < nameWithin {
		return nil, nil // not yet
	}
	told := l.guide.flags.told()
	told.Rig.Gauge = gaugeName(l.source, id)
	told.Calibration = calibration(l.records, told.Rig.Gauge, time.Now())
	p, err := l.guide.begin(told, id, l.records)
	if err != nil {
		return nil, err
	}
	return oneGauge{Procedure: p, serial: id.Serial, now: func() string { return l.source.Stats().Identity.Serial }}, nil
}

// oneGauge lets a procedure have the holds and readings of the gauge that it began with,
// and of no other that is plugged in meanwhile.
type oneGauge struct {
	guided.Procedure
	serial string
	now    func() string
}

// Held implements [guided.Procedure].
func (o oneGauge) Held(id string, h *hold.Hold) guided.Reply {
	if why := o.other(); why != "" {
		return guided.Reply{Text: "this hold does not count: " + why}
	}
	return o.Procedure.Held(id, h)
}

// Line implements [guided.Procedure].
func (o oneGauge) Line(text string, recent []trace.Reading) guided.Reply {
	if why := o.other(); why != "" && len(recent) > 0 {
		return guided.Reply{Text: why}
	}
	return o.Procedure.Line(text, recent)
}

// other says that this is not the gauge from the beginning; "" if it is.
func (o oneGauge) other() string {
	now := o.now()
	switch {
	case now == o.serial:
		return ""
	case o.serial == "":
		return fmt.Sprintf("the gauge has only now said that it is %s; begin anew", now)
	}
	return fmt.Sprintf("this is the gauge %s, and it was begun with %s; plug that one in again, or begin anew", now, o.serial)
}

// gaugeName is how records of the rig name a gauge: its serial number, else the label
// of its address.
func gaugeName(g gauge.Gauge, id gauge.Identity) string {
	if id.Serial != "" {
		return id.Serial
	}
	return g.Address().Label()
}

// readLines returns what is typed, line by line, until the input or ctx ends. The reader
// itself cannot be woken: where the input is a keyboard, it waits until the program ends.
func readLines(ctx context.Context, in io.Reader) <-chan string {
	lines := make(chan string)
	if in == nil {
		close(lines)
		return lines
	}
	go func() {
		defer close(lines)
		for s := bufio.NewScanner(in); s.Scan(); {
			select {
			case lines <- s.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	return lines
}

// talk tells on standard error what goes on. Replies and the bench's events come from
// two goroutines.
type talk struct {
	quiet    bool
	mu       sync.Mutex
	progress *progress
	next     string
}

// reply tells what became of the last thing, and what to do next.
func (t *talk) reply(r guided.Reply, next string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch {
	case r.Text == "":
	case r.Accepted:
		t.progress.say("ok: " + r.Text)
	default:
		t.progress.say("refused: " + r.Text)
	}
	if next != t.next || !r.Accepted {
		t.progress.say(next)
	}
	t.next = next
}

// follow tells of the bench's events until they end.
func (t *talk) follow(events *bench.Subscription) error {
	defer events.Close()
	for e := range events.C {
		if d, ok := e.Data.(bench.HoldData); ok && d.Unrecorded != "" {
			return &hintedError{
				err:  fmt.Errorf("hold %s is not in the ledger, so it does not count: %s", d.ID, d.Unrecorded),
				hint: "make room, or choose another ledger with --ledger, and measure again",
			}
		}
		t.event(e)
	}
	return nil
}

func (t *talk) event(e bench.Event) {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch d := e.Data.(type) {
	case bench.StateData:
		if !t.quiet || !d.Up || d.Problem != "" || d.Warning != "" {
			t.progress.state(d)
		}
	case bench.ReadingData:
		if !t.quiet {
			t.progress.reading(d)
		}
	case bench.EstimateData:
		if !t.quiet {
			t.progress.estimate(d)
		}
	}
}

func (t *talk) finish(s gauge.Stats) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.progress.finish()
	t.progress.tally(s)
}
