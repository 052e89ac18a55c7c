package gauge_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// held is a port on which lines arrive evenly and of which the reader is kept away for
// a while. A read takes what has come by then, but no more than the buffer holds, less
// one byte, as terminals do.
type held struct {
	period     time.Duration
	lines      int
	from, till time.Duration // nobody reads meanwhile
	room       int           // lines that the port keeps meanwhile, 0 for all

	made   time.Time
	taken  int // bytes
	closed chan struct{}
	close  func()
}

func newHeld(period time.Duration, lines int, from, till time.Duration) *held {
	d := &held{period: period, lines: lines, from: from, till: till, made: time.Now(), closed: make(chan struct{})}
	d.close = sync.OnceFunc(func() { close(d.closed) })
	return d
}

// heldLine is a line whose number is its place in the row.
func heldLine(n int) string { return fmt.Sprintf("%+010d.0 Pa P= 12.5 T= 22.50\r\n", n) }

func (d *held) Read(p []byte) (int, error) {
	length := len(heldLine(0))
	for {
		now := time.Since(d.made)
		if now >= d.from && now < d.till {
			time.Sleep(d.till - now)
			continue
		}
		come := (min(d.lines, int(now/d.period)) - d.lost(now)) * length
		if n := min(come-d.taken, len(p)-1); n > 0 {
			first := d.taken / length
			var text []byte
			for i := first; len(text) < n+length; i++ {
				text = append(text, heldLine(d.number(i))...)
			}
			copy(p, text[d.taken-first*length:][:n])
			d.taken += n
			return n, nil
		}
		select {
		case <-d.closed:
			return 0, errors.New("closed")
		case <-time.After(d.period):
		}
		if d.taken == (d.lines-d.lost(now))*length {
			return 0, nil
		}
	}
}

// lost is how many lines found no room by now: the last ones of the stall.
func (d *held) lost(now time.Duration) int {
	if d.room == 0 || now < d.till {
		return 0
	}
	return int((d.till-d.from)/d.period) - d.room
}

// number is that of the nth line that is not lost.
func (d *held) number(n int) int {
	if d.room > 0 && n >= int(d.from/d.period)+d.room {
		n += d.lost(d.till)
	}
	return n
}

func (d *held) Write(p []byte) (int, error) { return len(p), nil }
func (d *held) Close() error                { d.close(); return nil }

// TestLinesThatPiledUpKeepTheirTimes: a busy computer takes nothing for a while, and
// what has piled up meanwhile comes in several reads.
func TestLinesThatPiledUpKeepTheirTimes(t *testing.T) {
	for _, stall := range []time.Duration{500 * time.Millisecond, 900 * time.Millisecond, 1500 * time.Millisecond, 2500 * time.Millisecond} {
		t.Run(fmt.Sprint(stall), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				const lines, period = 2000, 4 * time.Millisecond
				sink := newRecorder()
				g := fakeText(t, "", io.Discard, newHeld(period, lines, 3*time.Second, 3*time.Second+stall))
				r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
				sink.await(t, lines-1)
				r.stop()
				require.NoError(t, r.ended(t))
				assert.Empty(t, sink.breaks)
				assert.Zero(t, r.Stats().Lost)
				for i, got := range sink.readings {
					n := int(got.Pressure)
					require.Equal(t, i+1, n, "none is lost and none twice")
					require.InDelta(t, float64(n-1)*period.Seconds(), got.Seconds(), 0.01, "line %d", n)
				}
			})
		})
	}
}

func TestLinesThatFoundNoRoomDuringAStallAreABreak(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const lines, period = 2000, 4 * time.Millisecond
		d := newHeld(period, lines, 3*time.Second, 4500*time.Millisecond)
		d.room = 300 // of 375
		sink := newRecorder()
		g := fakeText(t, "", io.Discard, d)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, lines-1-75)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, "IRBR", sink.order)
		last := sink.readings[len(sink.readings)-1]
		assert.InDelta(t, (last.Pressure-1)*period.Seconds(), last.Seconds(), 0.01)
	})
}

func TestLinesThatWaitedBeforeTheOpeningAreDropped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		g := fakeText(t, "", io.Discard, newScript(10*time.Millisecond, "1 Pa\n2 Pa\n3 Pa\n", "4 Pa\n"))
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 2)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, 3.0, sink.readings[0].Pressure, "when the others were made nobody knows")
		assert.Equal(t, 10*time.Millisecond, sink.readings[1].T)
	})
}

func TestMoreLinesThanTheTimeHoldsAreABreak(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var texts []string
		for i := range 60 { // 20 Hz, long enough for the rate to be known
			texts = append(texts, fmt.Sprintf("%d Pa\n", i))
		}
		var flood string
		for i := range 100 {
			flood += fmt.Sprintf("%d Pa\n", i)
		}
		sink := newRecorder()
		g := fakeText(t, "", io.Discard, newScript(50*time.Millisecond, append(texts, flood)...))
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 159)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, "IRBR", sink.order)
		assert.EqualError(t, sink.breaks[0], "the computer did not take the gauge's lines in time, and when they were made is not known")
	})
}
