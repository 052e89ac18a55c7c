//go:build linux

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"sync"
	"time"

	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

// gauge is one simulated gauge. It is silent until it is asked who it is, which is the
// first thing the program does: so the program's times and the gauge's have one zero.
type gauge struct {
	name    string
	line    io.ReadWriteCloser
	address string
	period  time.Duration
	holds   bool
	random  *rand.Rand

	asked chan struct{}

	// The speaker's alone.
	began  time.Time
	next   uint32
	record []byte // what is written at once

	// mu guards sent, the times at which readings were written, by number.
	mu   sync.Mutex
	sent []time.Time
}

// listen hears the question for the gauge's name until the line is closed.
func (g *gauge) listen() {
	buffer := make([]byte, 64)
	for {
		n, err := g.line.Read(buffer)
		if err != nil {
			return
		}
		if bytes.Contains(buffer[:n], []byte("?")) {
			select {
			case g.asked <- struct{}{}:
			default:
			}
		}
	}
}

// speak writes what is due now.
func (g *gauge) speak(now time.Time) error {
	select {
	case <-g.asked:
		id := frames.AppendIdentity(nil, frames.Identity{
			Version: frames.Version, Serial: "LOAD-" + g.name, MinPa: -7500, MaxPa: 7500, ResolutionPa: 0.5,
			RateHz: float64(time.Second) / float64(g.period),
		})
		if _, err := g.line.Write(id); err != nil {
			return err
		}
		if g.began.IsZero() {
			g.began = now
		}
	default:
	}
	if g.began.IsZero() {
		return nil
	}
	for time.Duration(g.next)*g.period <= now.Sub(g.began) {
		t := time.Duration(g.next) * g.period
		g.record = frames.AppendReading(g.record[:0], g.next, uint32(t.Microseconds()), g.reading(t))
		g.mu.Lock()
		g.sent = append(g.sent, time.Now())
		g.mu.Unlock()
		if _, err := g.line.Write(g.record); err != nil {
			return err
		}
		g.next++
	}
	return nil
}

// wrote returns when each reading was written so far.
func (g *gauge) wrote() []time.Time {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.sent
}

// A round of a gauge that makes holds: rest, draw, hold, vent.
const (
	restTime     = 3 * time.Second
	drawTime     = 800 * time.Millisecond
	holdTime     = 12 * time.Second
	ventTime     = 3 * time.Second
	roundTime    = restTime + drawTime + holdTime + ventTime
	drawnPa      = -2700.0
	leakTime     = 25 * time.Second
	ventingTime  = 40 * time.Millisecond
	noisePa      = 1.2
	resolutionPa = 0.5
)

// reading returns what the gauge reads at a time since it began.
func (g *gauge) reading(t time.Duration) trace.Reading {
	p := 13.6 + g.random.NormFloat64()*noisePa
	if g.holds {
		p += bore(t % roundTime)
	}
	return trace.Reading{Pressure: math.Round(p/resolutionPa) * resolutionPa, Celsius: 22.5}
}

// bore returns the pressure in the bore at a time in the round.
func bore(t time.Duration) float64 {
	t -= restTime
	switch {
	case t < 0:
		return 0
	case t < drawTime:
		return drawnPa * float64(t) / float64(drawTime)
	}
	t -= drawTime
	if t < holdTime {
		return drawnPa * math.Exp(-float64(t)/float64(leakTime))
	}
	left := drawnPa * math.Exp(-float64(holdTime)/float64(leakTime))
	return left * math.Exp(-float64(t-holdTime)/float64(ventingTime))
}

// gauges are all gauges. One goroutine speaks for all of them, so that the feeding costs
// as little as it can of the processors that the program runs on.
type gauges []*gauge

// openGauges opens so many gauges on lines of a kind: pty or tcp.
func openGauges(n int, hz float64, over string, holds bool) (all gauges, err error) {
	for i := range n {
		g := &gauge{
			name: fmt.Sprint(i + 1), period: time.Duration(float64(time.Second) / hz), holds: holds,
			random: rand.New(rand.NewPCG(1, uint64(i))), asked: make(chan struct{}, 1),
		}
		switch over {
		case "pty":
			g.line, g.address, err = openTerminal()
		case "tcp":
			g.line, g.address, err = openSocket()
		default:
			err = fmt.Errorf("gauges over %q: want pty or tcp", over)
		}
		if err != nil {
			return nil, errors.Join(err, all.close())
		}
		all = append(all, g)
	}
	return all, nil
}

// run speaks for all gauges until ctx ends.
func (gs gauges) run(ctx context.Context) error {
	var listening sync.WaitGroup
	for _, g := range gs {
		listening.Go(g.listen)
	}
	defer listening.Wait()
	stop := context.AfterFunc(ctx, func() { _ = gs.close() }) // wakes the listeners
	defer stop()
	due := time.NewTicker(time.Millisecond)
	defer due.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-due.C:
		}
		for _, g := range gs {
			if err := g.speak(time.Now()); err != nil && ctx.Err() == nil {
				return errors.Join(fmt.Errorf("gauge %s: %w", g.name, err), gs.close())
			}
		}
	}
}

// close closes all lines.
func (gs gauges) close() error {
	var err error
	for _, g := range gs {
		err = errors.Join(err, g.line.Close())
	}
	return err
}

// addresses returns where the gauges are.
func (gs gauges) addresses() []string {
	all := make([]string, len(gs))
	for i, g := range gs {
		all[i] = g.address
	}
	return all
}
