package main

import (
	"fmt"
	"io"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/gauge"
	"boretight/internal/hold"
)

// progress tells on standard error what is going on: on a terminal one line with the
// pressure, written anew, elsewhere a plain line for each change.
type progress struct {
	w       io.Writer
	rewrite bool
	width   int // of the line on the terminal now
	last    string
	told    string // a problem that was told while the gauge is up

	now     bench.StateData
	doing   string  // the phase, with how long it lasts where that is known
	running string  // estimate of the hold in progress
	meter   *meter  // the pressure, while readings come
	away    resting // whether the gauge rests where a gauge does not
}

func newProgress(a app) *progress { return &progress{w: a.err, rewrite: terminal(a.err)} }

// state tells of a change of the gauge or the phase.
func (p *progress) state(s bench.StateData) {
	if s.Phase != p.now.Phase || !s.Up {
		p.running, p.meter = "", nil
	}
	p.now = s
	if s.Up && s.Problem != p.told {
		// Readings come all the same, so what goes on stays to be seen.
		if p.told = s.Problem; s.Problem != "" {
			p.say(s.Problem)
		}
	}
	switch {
	case s.Problem != "" && !s.Up:
		p.say(s.Problem)
	case s.Warning != "":
		p.say(s.Warning)
	case !s.Up:
		p.line("waiting for the gauge")
	case s.Phase == hold.Holding.String() && strings.HasPrefix(p.last, s.Phase):
		// Estimates say more.
	default:
		p.doing = s.Phase
		p.show()
	}
}

// estimate tells how a hold in progress stands. Off a terminal it speaks once a
// second of the hold.
func (p *progress) estimate(e bench.EstimateData) {
	text := fmt.Sprintf("holding %.0f s", e.Held)
	if !p.rewrite && strings.HasPrefix(p.last, text+" ") {
		return
	}
	p.doing = text
	switch {
	case e.Outcome.SCCM != nil:
		p.running = " · " + withU(*e.Outcome.SCCM, "sccm")
		if e.Outcome.Verdict != "" {
			p.running += " · " + string(e.Outcome.Verdict) + " so far"
		}
	case e.Outcome.PressureRate != nil:
		p.running = " · " + plusMinus(e.Outcome.PressureRate.Value, 2*e.Outcome.PressureRate.U, "Pa/s")
	default:
		p.running = " · no estimate yet"
	}
	p.show()
}

// show writes the line of what is going on.
func (p *progress) show() { p.line(p.doing + p.meter.text() + p.running) }

// line shows a passing state.
func (p *progress) line(text string) {
	if text == p.last {
		return
	}
	p.last = text
	if !p.rewrite {
		fmt.Fprintln(p.w, text)
		return
	}
	text += "  " // what is typed begins here
	length := len([]rune(text))
	fmt.Fprintf(p.w, "\r%s%s", text, strings.Repeat(" ", max(0, p.width-length)))
	p.width = length
}

// say tells something that stays.
func (p *progress) say(text string) {
	if text == p.last {
		return
	}
	p.finish()
	p.last = text
	io.WriteString(p.w, wrappedTo(screenWidth(p.w), "", text))
}

// tally tells how the gauge fared, if anything was amiss.
func (p *progress) tally(s gauge.Stats) {
	if s.Lost+s.Damaged+s.Reconnects > 0 {
		p.say(fmt.Sprintf("%d readings, %d lost, %d lines damaged, %d reconnections", s.Readings, s.Lost, s.Damaged, s.Reconnects))
	}
}

// finish ends the line that is being rewritten, so that other output can follow.
func (p *progress) finish() {
	if p.rewrite && p.width > 0 {
		fmt.Fprintf(p.w, "\r%s\r", strings.Repeat(" ", p.width))
		p.width = 0
	}
	p.last = ""
}
