//go:build unix

package gauge_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/gauge"
	"boretight/internal/gauge/frames"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

// aHold is a simulated trace of one hold at 100 readings a second.
func aHold(t *testing.T) []trace.Reading {
	t.Helper()
	family, err := sim.FamilyNamed("small-laminar")
	require.NoError(t, err)
	tr, _, err := family.Draw(rand.New(rand.NewPCG(3, 0))).Run()
	require.NoError(t, err)
	return tr.Readings
}

// counted are the frames of readings whose number and clock begin at the given ones.
func counted(readings []trace.Reading, seq, micros uint32) string {
	var out []byte
	for i, r := range readings {
		out = frames.AppendReading(out, seq+uint32(i), micros+uint32(r.T.Microseconds()), r)
	}
	return string(out)
}

// finding finds holds in what a gauge says.
type finding struct {
	*recorder
	finder *hold.Finder
	holds  []*hold.Hold
}

func newFinding() *finding {
	return &finding{recorder: newRecorder(), finder: hold.NewFinder(trace.Gauge)}
}

func (f *finding) hear(events []hold.Event) {
	for _, e := range events {
		if e.Kind == hold.Ended {
			f.holds = append(f.holds, e.Hold)
		}
	}
}

func (f *finding) Take(readings []trace.Reading) {
	for _, r := range readings {
		f.hear(f.finder.Push(r))
	}
	f.recorder.Take(readings)
}

func (f *finding) Break(reason error) {
	f.hear(f.finder.Close())
	f.finder = hold.NewFinder(trace.Gauge)
	f.recorder.Break(reason)
}

// measure sends text through a serial port until n readings have come.
func measure(t *testing.T, text string, n int) (*finding, gauge.Stats) {
	t.Helper()
	line, sink := newTerminal(t), newFinding()
	r := run(t, "serial:"+line.port, sink)
	line.say(t, identity+text)
	sink.await(t, n)
	r.stop()
	require.NoError(t, r.ended(t))
	sink.hear(sink.finder.Close())
	return sink, r.Stats()
}

func TestAHoldInWhichNumberAndClockWrapIsLikeAnyOther(t *testing.T) {
	readings := aHold(t)
	middle := len(readings) / 2
	at := uint32(readings[middle].T.Microseconds())
	plain, _ := measure(t, counted(readings, 1, 1), len(readings))
	wrapped, stats := measure(t, counted(readings, -uint32(middle+7), -at), len(readings))
	require.Len(t, plain.holds, 1)
	require.Len(t, wrapped.holds, 1)
	assert.Empty(t, wrapped.breaks)
	assert.Zero(t, stats.Lost)
	assert.EqualValues(t, len(readings), stats.Readings)
	require.Less(t, wrapped.holds[0].Readings[0].T, readings[middle].T)
	last := wrapped.holds[0].Readings
	require.Greater(t, last[len(last)-1].T, readings[middle].T, "the hold lies around the wrap")
	judged := func(f *finding) trial.Outcome { return trial.Judge(f.holds[0], decay.Setup{}, 0) }
	assert.Equal(t, judged(plain), judged(wrapped))
}

func TestAGaugeThatRestartsCutsAHoldAndNothingElse(t *testing.T) {
	readings := aHold(t)
	for _, c := range []struct {
		name          string
		before, after []trace.Reading
		cut           bool
	}{
		{"at rest", readings[:60], readings, false},
		{"in mid-hold", readings[:len(readings)/2], readings[len(readings)/2:], true},
	} {
		t.Run(c.name, func(t *testing.T) {
			all := len(c.before) + len(c.after)
			after := slices.Clone(c.after)
			for i := range after {
				after[i].T -= c.after[0].T
			}
			got, stats := measure(t, counted(c.before, 70_000, 900_000_000)+"boot\r\n"+identity+counted(after, 0, 1500), all)
			require.Len(t, got.breaks, 1)
			assert.ErrorIs(t, got.breaks[0], frames.ErrRestarted)
			assert.EqualError(t, got.breaks[0], "the gauge restarted its count or its clock")
			assert.EqualValues(t, all, stats.Readings, "each counted once")
			assert.Zero(t, stats.Lost)
			assert.EqualValues(t, 1, stats.Damaged, "the line that is no frame")
			for i := range got.readings[1:] {
				require.Less(t, got.readings[i].T, got.readings[i+1].T)
			}
			require.Len(t, got.holds, 1)
			if !c.cut {
				assert.NotEqual(t, hold.Cut, got.holds[0].Ending, "the hold after it is whole")
				return
			}
			assert.Equal(t, hold.Cut, got.holds[0].Ending)
			kept := got.holds[0].Readings
			assert.InDelta(t, c.before[len(c.before)-1].Seconds(), kept[len(kept)-1].Seconds(), 0.02, "up to the restart")
		})
	}
}
