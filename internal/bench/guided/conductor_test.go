package guided_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench/guided"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// said collects what a conductor says.
type said struct {
	mu    sync.Mutex
	lines []string
}

func (s *said) say(r guided.Reply, next string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.lines = append(s.lines, fmt.Sprint(r.Accepted, " ", r.Text, "|", next))
}

// last is the last thing said.
func (s *said) last(t *testing.T) string {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	require.NotEmpty(t, s.lines)
	return s.lines[len(s.lines)-1]
}

// lead runs a conductor in the background; end waits for it.
func lead(ctx context.Context, c *guided.Conductor, l guided.Lead) (end func() (guided.Procedure, error)) {
	var p guided.Procedure
	var err error
	done := make(chan struct{})
	go func() {
		defer close(done)
		p, err = c.Run(ctx, l)
	}()
	return func() (guided.Procedure, error) {
		<-done
		return p, err
	}
}

// blankHolds are the holds of three that make a blank.
func blankHolds(t *testing.T) []*hold.Hold {
	t.Helper()
	tr, _, err := sim.Scenario{Air: room, Sensor: sensor, Rig: hoseRig(t, 2e-4), Holds: cycles(3, 2700, 12), Seed: 40}.Run()
	require.NoError(t, err)
	holds := hold.Find(tr)
	require.Len(t, holds, 3)
	return holds
}

func TestAConductorLeadsHoldsToARecord(t *testing.T) {
	t.Parallel()
	holds := blankHolds(t)
	synctest.Test(t, func(t *testing.T) {
		c, s := guided.NewConductor(nil), &said{}
		lines := make(chan string)
		begun := 0
		end := lead(t.Context(), c, guided.Lead{Begin: func() (guided.Procedure, error) {
			if begun++; begun < 3 {
				return nil, nil // the gauge has not said who it is
			}
			return plainBlank(t, 2), nil
		}, Lines: lines, Say: s.say})
		synctest.Wait()
		assert.Zero(t, begun, "nobody knows yet which gauge it is")
		c.Read("upper", trace.Reading{T: time.Second})
		synctest.Wait()
		assert.Equal(t, 1, begun)
		c.Held("upper", "early", holds[0])
		time.Sleep(time.Second)
		assert.Equal(t, 3, begun)
		lines <- "back" // the early one counted; it is taken away again
		synctest.Wait()
		assert.Contains(t, s.last(t), "Blank, hold 1 of 2")
		c.Held("upper", "a", holds[0])
		synctest.Wait()
		assert.Contains(t, s.last(t), "true hold 1 of 2 counts")
		lines <- "back"
		synctest.Wait()
		assert.Contains(t, s.last(t), "true hold 1 no longer counts|Blank, hold 1 of 2")
		close(lines)
		c.Held("upper", "b", holds[1])
		c.Held("upper", "c", holds[2])
		p, err := end()
		require.NoError(t, err)
		require.True(t, p.Done())
		r, err := p.Record()
		require.NoError(t, err)
		assert.Equal(t, []string{"b", "c"}, r.Holds)
	})
}

func TestWhatCameBeforeTheEndIsStillTaken(t *testing.T) {
	t.Parallel()
	holds := blankHolds(t)
	synctest.Test(t, func(t *testing.T) {
		c := guided.NewConductor(nil)
		ctx, cancel := context.WithCancel(t.Context())
		c.Read("upper", trace.Reading{T: time.Second})
		c.Held("upper", "a", holds[0])
		cancel() // a recording that is played at once has ended before anybody looked
		p, err := lead(ctx, c, guided.Lead{Begin: func() (guided.Procedure, error) { return plainBlank(t, 1), nil }, Say: (&said{}).say})()
		require.NoError(t, err)
		require.NotNil(t, p)
		assert.True(t, p.Done())
	})
}

func TestAGaugeThatWasNeverHeardGivesNoProcedure(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		end := lead(ctx, guided.NewConductor(nil), guided.Lead{Begin: func() (guided.Procedure, error) { panic("never") }})
		cancel()
		p, err := end()
		require.NoError(t, err)
		assert.Nil(t, p)
	})
}

func TestAProcedureThatCannotBeginEndsTheLead(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		c := guided.NewConductor(nil)
		c.Read("upper", trace.Reading{})
		end := lead(t.Context(), c, guided.Lead{Begin: func() (guided.Procedure, error) { return nil, errors.New("no blank on record") }})
		_, err := end()
		assert.ErrorContains(t, err, "no blank on record")
	})
}

// A height that was typed at once waits for its two seconds of readings; a gauge that has
// gone away meanwhile does not leave it waiting.
func TestATypedHeightWaitsForReadings(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		c, s, g := guided.NewConductor(nil), &said{}, newGauge()
		read := func(pressure, seconds float64) {
			from := len(g.readings)
			g.stay(pressure, seconds, 0)
			for _, r := range g.readings[from:] {
				c.Read("upper", r)
				time.Sleep(10 * time.Millisecond)
			}
		}
		lines := make(chan string)
		end := lead(t.Context(), c, guided.Lead{Begin: func() (guided.Procedure, error) {
			return guided.NewCalibration(told, rig.Gauge{}, trace.Gauge, guided.Scale{Column: &water}), nil
		}, Lines: lines, Say: s.say})
		read(0, 0.5)
		lines <- "0mm"
		read(0, 1)
		assert.NotContains(t, s.last(t), "true pair 1")
		read(0, 1)
		assert.Contains(t, s.last(t), "true pair 1: 0mm")
		time.Sleep(3 * time.Second)
		lines <- "-100mm"
		synctest.Wait()
		assert.Contains(t, s.last(t), "the gauge is not heard")
		read(-979, 6)
		lines <- "-100mm up"
		synctest.Wait()
		assert.Contains(t, s.last(t), "true pair 2: -100mm up")
		close(lines)
		p, err := end()
		require.NoError(t, err)
		assert.True(t, p.Done(), "the end of input ends a calibration")
	})
}
