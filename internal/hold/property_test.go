package hold_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/hold"
	"boretight/internal/trace"
)

// stretch draws a run of readings that starts at a time and a pressure: level, a
// ramp, a decay, a step or nonsense, evenly spaced or not.
func stretch(t *rapid.T, at time.Duration, from float64) []trace.Reading {
	n := rapid.IntRange(1, 400).Draw(t, "readings")
	pitch := time.Duration(rapid.SampledFrom([]int{0, 1, 10, 50, 400, 3500}).Draw(t, "pitch in ms")) * time.Millisecond
	to := rapid.SampledFrom([]float64{0, 3, 100, -100, 2700, -2700, 9e4, 1e300, math.NaN(), math.Inf(1)}).Draw(t, "to")
	shape := rapid.IntRange(0, 3).Draw(t, "shape")
	status := trace.Status(rapid.SampledFrom([]int{0, 0, 0, 0, 1, 2, 255}).Draw(t, "status"))
	noise := rapid.SampledFrom([]float64{0, 0.5, 30}).Draw(t, "noise")
	out := make([]trace.Reading, n)
	for i := range out {
		x := float64(i+1) / float64(n)
		p := to
		switch shape {
		case 1:
			p = from + (to-from)*x
		case 2:
			p = to + (from-to)*math.Exp(-4*x)
		case 3:
			p = from
		}
		at += pitch
		// Any noise does; this one needs no state.
		out[i] = trace.Reading{T: at, Pressure: p + noise*math.Sin(1e4*float64(at)), Celsius: math.NaN(), Status: status}
	}
	return out
}

func anything(t *rapid.T) trace.Trace {
	tr := trace.Trace{Kind: trace.Kind(rapid.IntRange(0, 1).Draw(t, "kind"))}
	var at time.Duration
	level := rapid.SampledFrom([]float64{0, 0, 98_300}).Draw(t, "level")
	for range rapid.IntRange(0, 12).Draw(t, "stretches") {
		part := stretch(t, at, level)
		tr.Readings = append(tr.Readings, part...)
		at, level = part[len(part)-1].T, part[len(part)-1].Pressure
	}
	sighted(tr.Readings)
	return tr
}

// sighted gives a value to what a gauge disowned for longer than 5 s on end: so long
// a blindness is a case of its own.
func sighted(rs []trace.Reading) {
	var since time.Duration
	for i, r := range rs {
		switch {
		case r.Status.Usable() && !math.IsNaN(r.Pressure) && !math.IsInf(r.Pressure, 0):
			since = r.T
		case r.T-since > 5*time.Second:
			rs[i].Status, rs[i].Pressure = 0, 0
			since = r.T
		}
	}
}

func TestNoReadingsUpsetTheFinder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { checkAnything(t, anything(t)) })
}

// checkAnything states what is true of every stream.
func checkAnything(t require.TestingT, tr trace.Trace) {
	f := hold.NewFinder(tr.Kind)
	var live []*hold.Hold
	open := false
	take := func(events []hold.Event) {
		for _, e := range events {
			switch e.Kind {
			case hold.Begun:
				require.False(t, open, "begun twice")
				open = true
			case hold.Ended:
				require.True(t, open, "ended before it began")
				open = false
				require.Empty(t, fault(e.Hold))
				live = append(live, e.Hold)
			}
		}
	}
	for i, r := range tr.Readings {
		take(f.Push(r))
		if i%7 == 0 {
			if h := f.Partial(); h != nil {
				require.Empty(t, fault(h), "in progress")
			}
		}
	}
	take(f.Close())
	require.False(t, open, "begun and never ended")
	require.Nil(t, f.Partial())
	require.Equal(t, hold.Rest, f.Phase())
	assert.Len(t, hold.Find(tr), len(live))
}

func FuzzFinder(f *testing.F) {
	f.Add([]byte("\x00\x00\x00\x01\x80\x40\x01\x80\x40\x01\x80\x80\x01\x00\x00"), false)
	f.Fuzz(func(t *testing.T, data []byte, absolute bool) {
		var tr trace.Trace
		if absolute {
			tr.Kind = trace.Absolute
		}
		// Three bytes a run: pitch in ms, pressure in 25 Pa, length.
		var at time.Duration
		for ; len(data) >= 3; data = data[3:] {
			for range int(data[2]) + 1 {
				at += time.Duration(data[0]) * time.Millisecond
				p := 25 * float64(int8(data[1]))
				if absolute {
					p += 98_300
				}
				tr.Readings = append(tr.Readings, trace.Reading{T: at, Pressure: p, Celsius: math.NaN()})
			}
		}
		checkAnything(t, tr)
	})
}
