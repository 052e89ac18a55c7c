package main

import (
	"fmt"
	"time"

	"boretight/internal/bench/guided"
	"boretight/internal/gauge"
	"boretight/internal/hold"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// leading makes the procedure.
type leading struct {
	guide   guide
	source  gauge.Gauge
	records []rig.Record
	heard   time.Time // the first reading
	// timed is the procedure where it says when in a hold to do something.
	timed interface{ Moment() guided.Moment }
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
	told.Calibration, told.OnCalibration = calibration(l.records, told.Rig.Gauge, time.Now())
	p, err := l.guide.begin(told, id, l.records)
	if err != nil {
		return nil, err
	}
	l.timed, _ = p.(interface{ Moment() guided.Moment })
	return oneGauge{Procedure: p, serial: id.Serial, now: func() string { return l.source.Stats().Identity.Serial }}, nil
}

// moment is when in the next hold to do something; never, where the procedure says none.
func (l *leading) moment() guided.Moment {
	if l.timed == nil {
		return guided.Moment{}
	}
	return l.timed.Moment()
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
