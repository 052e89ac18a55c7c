//go:build unix

package main

import (
	"bytes"
	"io"
	"math"
	"math/rand/v2"
	"sync"
	"time"

	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

// period is the time between readings.
const period = 10 * time.Millisecond

// gaugeIdentity is what the gauge says of itself.
var gaugeIdentity = frames.Identity{
	Version: frames.Version, Serial: "REPLUG-1", MinPa: -7500, MaxPa: 7500, ResolutionPa: 0.5, RateHz: 100,
}

// stretch is a gauge from its plugging in to its unplugging. It counts from 0.
type stretch struct {
	random *rand.Rand
	line   *terminal
	began  time.Time

	mu    sync.Mutex
	drawn time.Time // when a draw begins, zero for rest
	sent  []float64 // the pressures said, by number

	done chan struct{}
}

// plug makes the gauge speak on the line until that is closed.
func plug(line *terminal, random *rand.Rand) *stretch {
	s := &stretch{random: random, line: line, began: time.Now(), done: make(chan struct{})}
	asked := make(chan struct{}, 1)
	var both sync.WaitGroup
	both.Go(func() { listen(line.gauge, asked) })
	both.Go(func() { s.speak(asked) })
	go func() {
		defer close(s.done)
		both.Wait()
	}()
	return s
}

// listen hears the question for the gauge's name until the line is closed.
func listen(line io.Reader, asked chan<- struct{}) {
	buffer := make([]byte, 64)
	for {
		n, err := line.Read(buffer)
		if err != nil {
			return
		}
		if bytes.Contains(buffer[:n], []byte("?")) {
			select {
			case asked <- struct{}{}:
			default:
			}
		}
	}
}

// speak says readings in time, and the gauge's name when it is asked.
func (s *stretch) speak(asked <-chan struct{}) {
	tick := time.NewTicker(period)
	defer tick.Stop()
	name := frames.AppendIdentity(nil, gaugeIdentity)
	for {
		text := name
		select {
		case <-asked:
		case now := <-tick.C:
			text = s.due(now)
		}
		if _, err := s.line.gauge.Write(text); err != nil {
			return
		}
	}
}

// due returns the readings up to now.
func (s *stretch) due(now time.Time) []byte {
	s.mu.Lock()
	defer s.mu.Unlock()
	var text []byte
	for n := len(s.sent); time.Duration(n)*period <= now.Sub(s.began); n++ {
		at := s.began.Add(time.Duration(n) * period)
		// Hundredths, so that hardly two readings of a hold are alike.
		pressure := math.Round(100*(s.pressure(at)+s.random.NormFloat64())) / 100
		s.sent = append(s.sent, pressure)
		text = frames.AppendReading(text, uint32(n), uint32((time.Duration(n) * period).Microseconds()),
			trace.Reading{Pressure: pressure, Celsius: math.NaN()})
	}
	return text
}

const (
	drawTime     = 600 * time.Millisecond
	drawPa       = -2700.0
	timeConstant = 25 * time.Second
)

// pressure is what there is to be measured at a time, in Pa.
func (s *stretch) pressure(at time.Time) float64 {
	if s.drawn.IsZero() || at.Before(s.drawn) {
		return 0
	}
	since := at.Sub(s.drawn)
	if since < drawTime {
		return drawPa * since.Seconds() / drawTime.Seconds()
	}
	return drawPa * math.Exp(-(since-drawTime).Seconds()/timeConstant.Seconds())
}

// draw begins a hold now.
func (s *stretch) draw() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.drawn = time.Now()
}

// said returns the pressures said so far.
func (s *stretch) said() []float64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.sent
}
