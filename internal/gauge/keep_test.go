package gauge_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

// flaky is a gauge whose runs end as told: with a reading before it or without.
type flaky struct {
	runs []ending
	at   []time.Duration // when each run began
	made time.Time
}

type ending struct {
	reading bool
	err     error
}

func (f *flaky) Address() gauge.Address { return gauge.Address{Scheme: gauge.Serial, Target: "flaky"} }
func (f *flaky) Stats() gauge.Stats     { return gauge.Stats{} }

// Run returns the next ending at once; after the last it waits for the context.
func (f *flaky) Run(ctx context.Context, sink gauge.Sink) error {
	f.at = append(f.at, time.Since(f.made))
	if len(f.runs) == 0 {
		<-ctx.Done()
		return nil
	}
	next := f.runs[0]
	f.runs = f.runs[1:]
	if next.reading {
		sink.Take([]trace.Reading{{}})
	}
	return next.err
}

var errGone = &gauge.PortError{Fault: gauge.FaultGone, Err: fs.ErrClosed}

func TestKeepWaitsLongerAndLongerAndBreaksOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		absent := ending{err: &gauge.PortError{Fault: gauge.FaultAbsent}}
		f := &flaky{made: time.Now(), runs: []ending{{true, errGone}, absent, absent, absent, absent, {true, errGone}, absent}}
		sink := newRecorder()
		r := start(t, f, func(ctx context.Context) error { return gauge.Keep(ctx, f, sink, gauge.KeepOptions{}) })
		time.Sleep(time.Minute)
		r.stop()
		require.NoError(t, r.ended(t))
		ms := time.Millisecond
		assert.Equal(t, []time.Duration{
			0, 250 * ms, 750 * ms, 1750 * ms, 2750 * ms, 3750 * ms, // one that was there again
			4000 * ms, 4500 * ms,
		}, f.at)
		assert.Equal(t, "RBRB", sink.order)
		assert.ErrorIs(t, sink.breaks[0], fs.ErrClosed)
	})
}

func TestKeepTriesSeldomWhereSomebodyHasToActAtTheComputer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		wrong := ending{err: &gauge.PortError{Fault: gauge.FaultNotSerial}}
		f := &flaky{made: time.Now(), runs: []ending{wrong, wrong, wrong, wrong, wrong, wrong, wrong, wrong}}
		r := start(t, f, func(ctx context.Context) error { return gauge.Keep(ctx, f, newRecorder(), gauge.KeepOptions{}) })
		time.Sleep(time.Minute)
		r.stop()
		require.NoError(t, r.ended(t))
		require.Len(t, f.at, 9)
		assert.Equal(t, 5*time.Second, f.at[8]-f.at[7])
	})
}

func TestKeepEndsWhileItWaits(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := &flaky{made: time.Now(), runs: []ending{{false, errGone}}}
		r := start(t, f, func(ctx context.Context) error { return gauge.Keep(ctx, f, newRecorder(), gauge.KeepOptions{}) })
		time.Sleep(gauge.FirstWait / 2)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Len(t, f.at, 1)
	})
}

func TestWhatWaitingCuresAndWhatNot(t *testing.T) {
	for _, c := range []struct {
		name  string
		err   error
		cured bool
	}{
		{"a gauge that is gone", errGone, true},
		{"a port that is not there", &gauge.PortError{Fault: gauge.FaultAbsent}, true},
		{"a port that is in use", &gauge.PortError{Fault: gauge.FaultBusy}, true},
		{"bytes without frames", fmt.Errorf("x: %w", gauge.ErrUndecodable), true},
		{"no reason at all", nil, true},
		{"another gauge at the port", &gauge.PortError{Fault: gauge.FaultStranger}, true},
		{"no permission, until a rule gives it", &gauge.PortError{Fault: gauge.FaultPermission}, true},
		{"no serial port, as a device is while it is plugged in", &gauge.PortError{Fault: gauge.FaultNotSerial}, true},
		{"a rate the port does not do, but another adapter may", &gauge.PortError{Fault: gauge.FaultSettings}, true},
		{"another version, until another gauge is there", fmt.Errorf("x: %w", &frames.VersionError{Version: 2}), true},
		{"the end of a recording", fmt.Errorf("x: %w", gauge.ErrEnded), false},
		{"a file that cannot be read", errors.New("line 3: not a number"), false},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				f := &flaky{made: time.Now(), runs: []ending{{true, c.err}}}
				r := start(t, f, func(ctx context.Context) error { return gauge.Keep(ctx, f, newRecorder(), gauge.KeepOptions{}) })
				time.Sleep(time.Minute)
				synctest.Wait()
				if c.cured {
					assert.Len(t, f.at, 2)
					r.stop()
					assert.NoError(t, r.ended(t))
					return
				}
				assert.Len(t, f.at, 1)
				assert.Equal(t, c.err, r.ended(t))
			})
		})
	}
}

func TestKeepReturnsAtOnceWhereTheFirstOpeningMustWork(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := &flaky{made: time.Now(), runs: []ending{{false, errGone}}}
		err := gauge.Keep(t.Context(), f, newRecorder(), gauge.KeepOptions{NeedFirst: true})
		assert.ErrorIs(t, err, errGone)
	})
	synctest.Test(t, func(t *testing.T) {
		other := fmt.Errorf("x: %w", &frames.VersionError{Version: 2})
		f := &flaky{made: time.Now(), runs: []ending{{true, other}}}
		assert.Equal(t, other, gauge.Keep(t.Context(), f, newRecorder(), gauge.KeepOptions{NeedFirst: true}), "after readings too")
	})
	synctest.Test(t, func(t *testing.T) {
		f := &flaky{made: time.Now(), runs: []ending{{true, errGone}, {false, errGone}}}
		r := start(t, f, func(ctx context.Context) error {
			return gauge.Keep(ctx, f, newRecorder(), gauge.KeepOptions{NeedFirst: true})
		})
		time.Sleep(time.Minute)
		synctest.Wait()
		assert.Len(t, f.at, 3, "later ones may fail")
		r.stop()
		assert.NoError(t, r.ended(t))
	})
}
