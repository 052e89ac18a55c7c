package bench

import (
	"context"
	"errors"
	"math"
	"sync"
	"sync/atomic"
	"time"

	"boretight/internal/decay"
	"boretight/internal/gauge"
	"boretight/internal/hold"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

const (
	// flushInterval bounds how late a reading reaches the page and the recorder.
	flushInterval = 25 * time.Millisecond
	// lookInterval is the time between running estimates, on the gauge's clock.
	lookInterval = 250 * time.Millisecond
	// drawnPerFlush is the most samples a gauge sends to the page in one flush: 200
	// a second, more than a screen can show.
	drawnPerFlush = int(200 * flushInterval / time.Second)
	// judgeQueue is how many ended holds may wait for their verdict. A hold takes
	// seconds, a fit less than one.
	judgeQueue = 16
)

// line is the way of one gauge's readings through the bench. It is the gauge's
// sink: Identify, Take and Break are called by the acquisition goroutine, which
// alone owns the fields of the first group.
type line struct {
	bench  *Bench
	source Source
	laid   laid // guarded by the bench's mutex

	identity gauge.Identity
	kind     trace.Kind
	finder   *hold.Finder
	recorded string        // id of the hold being recorded; empty between holds
	terms    terms         // of the hold being recorded
	breaking string        // why the readings end, while they are being ended
	lastT    time.Duration // of the last reading taken
	any      bool          // lastT is valid
	nextLook time.Duration

	// drawn are the samples that wait for the next flush to pages, recent those that a
	// page begins with.
	drawnMu sync.Mutex
	drawn   []Sample
	recent  recent

	looks   chan look
	looking atomic.Bool
	ended   chan ended

	// stateMu guards the state that pages see.
	stateMu  sync.Mutex
	state    StateData
	pressure float64
	estimate *EstimateData
	turn     uint64 // counts holds, so that a late look cannot show an earlier one

	// adding is a lock, full from before a hold's end is in the ledger until its trial is kept
	// and shown. It comes before the bench's mutex.
	adding chan struct{}
	// sittings are the trials that may gain a hold, the newest last; the judge's alone.
	sittings []*sitting
}

func newLine(b *Bench, s Source, settings Settings) *line {
	return &line{
		bench:  b,
		source: s,
		laid:   laid{settings: settings},
		finder: hold.NewFinder(trace.Gauge),
		looks:  make(chan look, 1),
		ended:  make(chan ended, judgeQueue),
		adding: make(chan struct{}, 1),
		state:  StateData{Gauge: s.Name, Phase: hold.Rest.String()},
	}
}

// run works the line until ctx ends or the gauge does. The goroutines end in the
// order in which they feed each other, so that all that was read is recorded.
func (l *line) run(ctx context.Context) error {
	var showing, judging sync.WaitGroup
	stopped := make(chan struct{})
	// What was measured is kept even though the run is being ended, but not at any price.
	keeping, giveUp := context.WithCancel(context.Background())
	defer giveUp()
	judging.Go(func() { l.judge(keeping) })
	showing.Go(l.look)
	showing.Go(func() { l.flushUntil(stopped) })

	err := l.acquire(ctx)
	defer time.AfterFunc(drainPatience, giveUp).Stop()
	l.close()

	close(stopped)
	close(l.looks)
	showing.Wait()
	close(l.ended)
	judging.Wait()
	return err
}

// acquire reads the gauge until ctx or a recording ends, which are no errors, or
// until the gauge fails for good.
func (l *line) acquire(ctx context.Context) error {
	err := gauge.Keep(ctx, l.source.Gauge, l, gauge.KeepOptions{
		Logger:    l.bench.logger,
		NeedFirst: l.bench.needGauges,
	})
	if err == nil || ctx.Err() != nil || errors.Is(err, gauge.ErrEnded) {
		return nil
	}
	if l.bench.needGauges {
		return err // whoever waits for it is told once
	}
	l.setState(func(s *StateData) { s.Up, s.Problem = false, err.Error() })
	l.bench.logger.Error("gauge given up", "gauge", l.source.Name, "error", err)
	return nil
}

// Identify takes what the gauge says of itself. Readings of another kind do not
// continue those before.
func (l *line) Identify(id gauge.Identity) {
	l.identity = id
	if id.Kind != l.kind {
		l.kind = id.Kind
		l.restart()
	}
}

// Break ends the hold in progress: what follows does not belong to it.
func (l *line) Break(reason error) {
	l.breaking = reason.Error()
	l.restart()
	l.breaking = ""
	l.bench.logger.Warn("gauge interrupted", "gauge", l.source.Name, "reason", reason)
}

// restart ends the stream so far and begins a new one.
func (l *line) restart() {
	l.close()
	l.finder = hold.NewFinder(l.kind)
	l.forgetRecent()
	l.setState(func(s *StateData) { *s = StateData{Gauge: s.Gauge, Phase: hold.Rest.String(), Series: s.Series} })
}

// close ends the stream of readings; a hold in progress ends as cut.
func (l *line) close() {
	for _, e := range l.finder.Close() {
		l.handle(e)
	}
	l.drop()
	l.flush()
}

// Take takes readings in order of time. One that does not come after the one before is
// dropped: a recording with it in could never be written to a file.
func (l *line) Take(readings []trace.Reading) {
	kept := 0 // how many of them are dropped or in the record
	for i, r := range readings {
		if l.any && r.T <= l.lastT {
			l.keep(readings[kept:i])
			kept = i + 1
			continue
		}
		l.lastT, l.any = r.T, true
		l.show(r)
		l.bench.follower.Read(l.source.Name, r)
		if events := l.finder.Push(r); len(events) > 0 {
			// Before they are handled: if the hold ends here, the judge may end its
			// record at once, and this reading belongs to it.
			l.keep(readings[kept : i+1])
			kept = i + 1
			for _, e := range events {
				l.handle(e)
			}
		}
		if r.T >= l.nextLook {
			l.offerLook(r.T)
		}
	}
	l.keep(readings[kept:])
}

// keep adds readings to the record, if there is one.
func (l *line) keep(readings []trace.Reading) {
	if l.recorded != "" {
		l.append(l.recorded, readings)
	}
}

// show brings the state that pages see up to the reading.
func (l *line) show(r trace.Reading) {
	l.stateMu.Lock()
	resting := l.state.Phase == hold.Rest.String()
	if r.Status.Usable() {
		l.pressure = r.Pressure
		l.state.RestLevel = restLevel(l.state.RestLevel, r, l.kind, resting)
	}
	relative := r.Pressure - l.state.RestLevel
	before, up := l.state.Warning, l.state.Up
	l.state.Warning = warning(before, r, relative)
	l.state.Up = true
	changed := l.state.Warning != before || !up
	l.stateMu.Unlock()

	l.drawnMu.Lock()
	l.drawn = append(l.drawn, Sample{T: r.Seconds(), Pressure: relative})
	l.drawnMu.Unlock()
	if changed {
		l.setState(nil)
	}
}

// handle acts on what the finder found.
func (l *line) handle(e hold.Event) {
	switch e.Kind {
	case hold.PhaseChanged:
		l.setState(func(s *StateData) {
			s.Phase, s.Since = e.Phase.String(), e.T.Seconds()
			if e.Phase != hold.Settling && e.Phase != hold.Holding {
				s.Isolation = 0
			}
		})
		if e.Phase != hold.Settling && e.Phase != hold.Holding {
			l.forgetEstimate()
		}
	case hold.Begun:
		l.begin(e)
	case hold.Isolated:
		l.setState(func(s *StateData) { s.Isolation = e.T.Seconds() })
	case hold.Ended:
		l.end(e.Hold)
	}
}

// begin opens a record and puts the readings before the draw into it.
func (l *line) begin(e hold.Event) {
	l.drop()
	l.recorded = l.record(e.Readings)
}

// end hands a complete hold to the judge. When the judge is far
// behind, acquisition waits.
func (l *line) end(h *hold.Hold) {
	l.forgetEstimate()
	l.ended <- ended{
		id: l.recorded, hold: h, terms: l.terms, at: l.bench.now().UTC(), handed: time.Now(),
		unnamed: !l.identity.Known, told: l.identity.Told, cut: l.breaking,
		// As it is now: by the time of the verdict another gauge may be there.
		clock: l.source.Gauge.Stats().Clock.Trouble(),
	}
	l.recorded = ""
}

// drop ends the record of what turned out to be no draw. The ledger forgets
// nothing, so it stays, as a hold without a result.
func (l *line) drop() {
	if l.recorded == "" {
		return
	}
	_, err := l.bench.recorder.EndHold(l.recorded, trial.Outcome{
		Schema: trial.SchemaHold, ID: l.recorded, Gauge: l.source.Name,
		Notes:  []string{"What began was not a draw: the pressure went back by itself before the joint was shut off."},
		Method: decay.Method,
	})
	l.recorderFails(err)
	l.recorded = ""
}

// restLevel follows the level at rest, so that the page can draw against it. It
// stands still outside of a rest. An absolute gauge begins at its first reading, a
// gauge of the other kind at 0.
func restLevel(level float64, r trace.Reading, kind trace.Kind, resting bool) float64 {
	switch {
	case level == 0 && kind == trace.Absolute:
		return r.Pressure
	case !resting || math.Abs(r.Pressure-level) > restBand:
		return level
	}
	return level + (r.Pressure-level)*restGain
}

const (
	// restBand in Pa: a reading farther away than that belongs to a draw that is
	// about to be noticed. Offsets of membrane gauges are smaller.
	restBand = 100
	// restGain is how much a reading moves the level: one part in fifty, half a
	// second at 100 readings a second.
	restGain = 0.02
)
