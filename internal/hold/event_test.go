package hold_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// busy is a trace with all that can happen: vented, redrawn, exhausted and cut.
func busy(t testing.TB) trace.Trace {
	t.Helper()
	s := oboe(12, sim.Suction)
	s.Sensor.Lost, s.Sensor.Faults = 0.05, 0.01
	redrawn, again := s.Holds[0], s.Holds[0]
	redrawn.Vent, redrawn.After = sim.Vent{None: true}, 0
	again.Rest, again.Draw.To = 0, 3000
	other := s.Holds[0]
	other.Sign, other.Draw.Kind = sim.Pressure, sim.Strokes
	s.Holds = append(s.Holds, redrawn, again, other)
	tr, truths := run(t, s)
	return until(tr, truths[3].Isolated+3)
}

func TestLiveIsAsRecorded(t *testing.T) {
	tr := busy(t)
	recorded := hold.Find(tr)
	require.Len(t, recorded, 4)
	var live []*hold.Hold
	for _, e := range listen(tr) {
		if e.Kind == hold.Ended {
			live = append(live, e.Hold)
		}
	}
	same(t, recorded, live)
}

// same compares holds to the bit.
func same(t *testing.T, want, got []*hold.Hold) {
	t.Helper()
	require.Len(t, got, len(want))
	for i, h := range want {
		require.Len(t, got[i].Readings, len(h.Readings))
		for j, r := range h.Readings {
			// A temperature is NaN where there is none, which equals nothing.
			require.Equal(t, r.T, got[i].Readings[j].T)
			require.Equal(t, r.Pressure, got[i].Readings[j].Pressure)
			require.Equal(t, r.Status, got[i].Readings[j].Status)
		}
		a, b := *h, *got[i]
		a.Readings, b.Readings = nil, nil
		assert.Equal(t, a, b)
	}
}

func TestLookingAtAHoldInProgressChangesNothing(t *testing.T) {
	tr := busy(t)
	f := hold.NewFinder(tr.Kind)
	var got []*hold.Hold
	take := func(events []hold.Event) {
		for _, e := range events {
			if e.Kind == hold.Ended {
				got = append(got, e.Hold)
			}
		}
	}
	looked := 0
	var first *hold.Hold
	var copied []trace.Reading
	for _, r := range tr.Readings {
		take(f.Push(r))
		h := f.Partial()
		if h == nil {
			continue
		}
		looked++
		require.Empty(t, fault(h))
		require.True(t, h.Isolated())
		require.Equal(t, hold.Cut, h.Ending)
		require.Equal(t, r.T, h.Readings[len(h.Readings)-1].T)
		if first == nil {
			first, copied = h, slices.Clone(h.Readings)
		}
		// Whoever adds to what is shared gets memory of his own.
		_ = append(h.Readings, trace.Reading{T: -1, Pressure: 1e9})
	}
	take(f.Close())
	assert.Greater(t, looked, 1000)
	same(t, hold.Find(tr), got)
	for i, r := range copied {
		require.Equal(t, r.T, first.Readings[i].T)
		require.Equal(t, r.Pressure, first.Readings[i].Pressure)
	}
}

func TestThereIsNothingInProgressOutsideAHold(t *testing.T) {
	s := oboe(12, sim.Suction)
	tr, truths := run(t, s)
	f := hold.NewFinder(tr.Kind)
	assert.Nil(t, f.Partial())
	for _, r := range tr.Readings {
		f.Push(r)
		h := f.Partial()
		at := r.Seconds()
		if f.Phase() != hold.Holding {
			require.Nil(t, h, "%v at %g s", f.Phase(), at)
		}
		// 1.2 s of watching; a vent is seen within 0.3 s.
		if at > truths[0].Isolated+1.6 && at < truths[0].Vented {
			require.NotNil(t, h, "at %g s", at)
			since, known := f.Isolation()
			require.True(t, known)
			require.Equal(t, h.Isolation, since)
		}
		if at > truths[0].Vented+0.5 {
			require.Nil(t, h, "at %g s", at)
		}
	}
	f.Close()
	assert.Nil(t, f.Partial())
}

func TestEventsComeInOrder(t *testing.T) {
	tr, truths := run(t, oboe(12, sim.Suction))
	var kinds []hold.EventKind
	var phases []hold.Phase
	var last time.Duration
	for _, e := range listen(tr) {
		assert.LessOrEqual(t, e.T, e.at, "nothing is told before it has happened")
		if e.Kind == hold.PhaseChanged {
			phases = append(phases, e.Phase)
			continue
		}
		kinds = append(kinds, e.Kind)
		assert.GreaterOrEqual(t, e.T, last)
		last = e.T
		switch e.Kind {
		case hold.Begun:
			assert.InDelta(t, 2, e.T.Seconds(), 0.1)
			assert.Zero(t, e.From, "all 2 s of rest belong to it")
		case hold.Isolated:
			assert.InDelta(t, truths[0].Isolated, e.T.Seconds(), 0.05)
			assert.Less(t, e.at.Seconds(), truths[0].Isolated+1.6)
		case hold.Ended:
			require.NotNil(t, e.Hold)
			assert.Equal(t, e.T, e.Hold.Readings[e.Hold.Held.To-1].T)
		}
	}
	assert.Equal(t, []hold.EventKind{hold.Begun, hold.Isolated, hold.Ended}, kinds)
	assert.Equal(t, []hold.Phase{hold.Drawing, hold.Settling, hold.Holding, hold.Venting, hold.Rest}, phases)
}

func TestEveryDrawThatBeginsEndsOnce(t *testing.T) {
	open, isolated := false, false
	for _, e := range listen(busy(t)) {
		switch e.Kind {
		case hold.Begun:
			assert.False(t, open, "begun at %v while another was open", e.T)
			open, isolated = true, false
		case hold.Isolated:
			assert.True(t, open && !isolated)
			isolated = true
		case hold.Ended:
			assert.True(t, open, "ended at %v without a beginning", e.T)
			assert.Equal(t, isolated, e.Hold.Isolated())
			open = false
		}
	}
	assert.False(t, open)
}

func TestAHoldEndsAtTheLatestTwoSecondsAfterTheVent(t *testing.T) {
	for _, rate := range []float64{20, 100, 1000} {
		for _, tau := range []float64{0.01, 0.04, 0.1} {
			s := oboe(25, sim.Suction)
			s.Sensor.Rate = rate
			s.Holds[0].After, s.Holds[0].Vent.Tau = 5, tau
			tr, truths := run(t, s)
			ended := 0
			for _, e := range listen(tr) {
				if e.Kind == hold.Ended {
					ended++
					assert.Less(t, e.at.Seconds(), truths[0].Vented+2, "at %g Hz, vent of %g s", rate, tau)
				}
			}
			assert.Equal(t, 1, ended)
		}
	}
}

func TestClosingTwiceIsHarmless(t *testing.T) {
	tr, truths := run(t, oboe(25, sim.Suction))
	f := hold.NewFinder(tr.Kind)
	assert.Empty(t, f.Close(), "before anything has come")
	for _, r := range until(tr, truths[0].Isolated+3).Readings {
		f.Push(r)
	}
	events := f.Close()
	assert.True(t, slices.ContainsFunc(events, func(e hold.Event) bool { return e.Kind == hold.Ended }))
	assert.Equal(t, hold.Rest, f.Phase())
	assert.Empty(t, f.Close())

	var again []*hold.Hold
	for _, r := range tr.Readings {
		for _, e := range f.Push(r) {
			if e.Kind == hold.Ended {
				again = append(again, e.Hold)
			}
		}
	}
	for _, e := range f.Close() {
		if e.Kind == hold.Ended {
			again = append(again, e.Hold)
		}
	}
	same(t, hold.Find(tr), again)
}
