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
	"boretight/internal/gauge/sim"
	"boretight/internal/trace"
)

// gauge is one simulated gauge. It is silent until it is asked who it is, which is the
// first thing the program does: so the program's times and the gauge's have one zero.
type gauge struct {
	name    string
	line    io.ReadWriteCloser
	address string
	period  time.Duration
	round   []trace.Reading // what it says, again and again

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
		g.record = frames.AppendReading(g.record[:0], g.next, uint32(t.Microseconds()), g.reading(g.next))
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

// reading returns the nth reading. The holds come round again and again.
func (g *gauge) reading(n uint32) trace.Reading { return g.round[int(n)%len(g.round)] }

// holding returns the readings of a clarinet's upper joint that is drawn and held once.
func holding(hz float64, seed uint64) ([]trace.Reading, error) {
	air := sim.Air{Ambient: 98300, Temperature: 295.65}
	leak, err := sim.NewLeak(3*sccm, 0.1, sim.StatedPa, sim.Suction, air)
	if err != nil {
		return nil, err
	}
	s := sim.Scenario{
		Name: "load", Air: air, Leaks: []sim.Leak{leak}, Seed: seed,
		Joint: sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, 39e-6), sim.Hose(0.5)}},
		Holds: []sim.Hold{{
			Rest: 3, Seconds: 12, After: 3, Vent: sim.Vent{Tau: 0.04},
			Draw: sim.Draw{Kind: sim.Strokes, To: 1.08 * sim.StatedPa, Seconds: 1, Strokes: 3},
		}},
		Sensor: sensor(hz),
	}
	t, _, err := s.Run()
	return t.Readings, err
}

const sccm = 101325e-6 / 60 // Pa·m³/s of one cm³/min at 0 °C and 101.325 kPa, at that temperature

// sensor is that of all gauges.
func sensor(hz float64) sim.Sensor {
	return sim.Sensor{
		Rate: hz, Lag: 6e-3, Zero: 13.6, Noise: 1.2, Step: 0.5, Min: -7500, Max: 7500, Thermometer: true, WarmBy: 0.15,
	}
}

// resting returns some readings of a gauge to which nothing happens.
func resting(hz float64, seed uint64) []trace.Reading {
	s, random := sensor(hz), rand.New(rand.NewPCG(seed, 0))
	all := make([]trace.Reading, int(hz))
	for i := range all {
		all[i] = trace.Reading{Pressure: math.Round((s.Zero+random.NormFloat64()*s.Noise)/s.Step) * s.Step, Celsius: 22.5}
	}
	return all
}

// gauges are all gauges. One goroutine speaks for all of them, so that the feeding costs
// as little as it can of the processors that the program runs on.
type gauges []*gauge

// openGauges opens so many gauges on lines of a kind: pty or tcp.
func openGauges(n int, hz float64, over string, holds bool) (all gauges, err error) {
	for i := range n {
		g := &gauge{
			name: fmt.Sprint(i + 1), period: time.Duration(float64(time.Second) / hz),
			round: resting(hz, uint64(i)), asked: make(chan struct{}, 1),
		}
		if holds {
			if g.round, err = holding(hz, uint64(i)); err != nil {
				return nil, errors.Join(err, all.close())
			}
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
	end := sync.OnceFunc(func() { _ = gs.close() }) // wakes who waits for a line
	defer listening.Wait()
	defer end()
	context.AfterFunc(ctx, end)
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
				return fmt.Errorf("gauge %s: %w", g.name, err)
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
