package bench_test

import (
	"context"
	"sync"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/ledger"
)

// waiting returns the numbers of the events that wait in a closed subscription.
func waiting(s *bench.Subscription) []uint64 {
	var ids []uint64
	for event := range s.C {
		ids = append(ids, event.ID)
	}
	return ids
}

func publish(h *bench.Hub, n int) {
	for i := range n {
		h.Publish(bench.EventReading, i)
	}
}

func TestHubNumbersEventsFromOne(t *testing.T) {
	h := bench.NewHub(4)
	s := h.Subscribe(4)
	h.Publish(bench.EventState, "a")
	h.Publish(bench.EventHold, "b")
	h.Close()

	first, ok := <-s.C
	require.True(t, ok)
	assert.Equal(t, bench.Event{ID: 1, Kind: bench.EventState, Data: "a"}, first)
	second, ok := <-s.C
	require.True(t, ok)
	assert.Equal(t, bench.Event{ID: 2, Kind: bench.EventHold, Data: "b"}, second)
	_, ok = <-s.C
	assert.False(t, ok, "the hub closed: the stream ends")
}

func TestSlowReaderLosesTheOldestAndLearnsHowMany(t *testing.T) {
	h := bench.NewHub(0)
	slow, quick := h.Subscribe(3), h.Subscribe(10)
	publish(h, 10)
	h.Close()

	assert.EqualValues(t, 7, slow.Missed())
	assert.Zero(t, slow.Missed(), "told once")
	assert.EqualValues(t, 7, h.Dropped())
	assert.Equal(t, []uint64{8, 9, 10}, waiting(slow))
	assert.Zero(t, quick.Missed())
	assert.Len(t, waiting(quick), 10)
}

func TestSubscribeFromGoesOnWhereTheReaderStopped(t *testing.T) {
	tests := map[string]struct {
		from   uint64
		want   []uint64
		missed uint64
	}{
		"nothing missed":                                   {from: 10, want: []uint64{11}},
		"what is kept comes first":                         {from: 8, want: []uint64{9, 10, 11}},
		"all that is kept":                                 {from: 6, want: []uint64{7, 8, 9, 10, 11}},
		"what is no longer kept is counted":                {from: 3, want: []uint64{7, 8, 9, 10, 11}, missed: 3},
		"from the beginning":                               {from: 0, want: []uint64{7, 8, 9, 10, 11}, missed: 6},
		"a number of an earlier run asks for a fresh look": {from: 99, want: []uint64{11}, missed: 1},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			h := bench.NewHub(4)
			publish(h, 10)
			s := h.SubscribeFrom(tt.from, 1)
			publish(h, 1)
			h.Close()
			assert.Equal(t, tt.missed, s.Missed())
			assert.Equal(t, tt.want, waiting(s))
		})
	}
}

func TestSubscribeFromBeforeTheRingIsFull(t *testing.T) {
	h := bench.NewHub(8)
	publish(h, 3)
	s := h.SubscribeFrom(1, 1)
	h.Close()
	assert.Zero(t, s.Missed())
	assert.Equal(t, []uint64{2, 3}, waiting(s))
}

func TestClosingEndsTheStreamOnceAndForAll(t *testing.T) {
	h := bench.NewHub(2)
	s := h.Subscribe(1)
	s.Close()
	s.Close()
	h.Publish(bench.EventReading, nil)
	assert.Empty(t, waiting(s), "closed before the event")

	h.Close()
	h.Close()
	h.Publish(bench.EventReading, nil)
	assert.Empty(t, waiting(h.Subscribe(1)), "a closed hub gives an ended stream")
}

// Publishing never blocks, whatever readers do: this test ends only if that is so.
func TestPublisherNeverWaitsForReaders(t *testing.T) {
	const events = 20000
	h := bench.NewHub(16)
	idle := h.Subscribe(1)
	reader := h.Subscribe(2)

	var readers sync.WaitGroup
	var seen, last uint64
	ordered := true
	readers.Go(func() {
		for event := range reader.C {
			ordered = ordered && event.ID > last
			last = event.ID
			seen++
		}
	})
	readers.Go(func() {
		for range 200 {
			h.SubscribeFrom(0, 1).Close()
		}
	})
	publish(h, events)
	h.Close()
	readers.Wait()

	assert.True(t, ordered, "numbers only rise")
	assert.EqualValues(t, events, last, "the latest event is never the one lost")
	assert.EqualValues(t, events, seen+reader.Missed(), "each event was read or counted as missed")
	assert.EqualValues(t, events-1, idle.Missed())
}

func TestAReaderThatTakesNothingHoldsNothingUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newMemorySink()
		writer := ledger.NewWriter(sink, ledger.WriterOptions{})
		writing, stop := context.WithCancel(t.Context())
		wrote := make(chan error, 1)
		go func() { wrote <- writer.Run(writing) }()
		readings := suctionHold()
		b, err := bench.New(bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: &scripted{readings: readings}}},
			Recorder: writer,
			Settings: settings(t),
		})
		require.NoError(t, err)
		stuck := b.Subscribe(2)
		require.NoError(t, b.Run(t.Context()))
		stop()
		require.NoError(t, <-wrote)

		require.Len(t, sink.holds, 1)
		for _, h := range sink.holds {
			assert.Zero(t, h.end.LostReadings)
			assert.Equal(t, readings[:len(h.readings)], h.readings)
		}
		assert.Greater(t, b.Snapshot().Dropped, uint64(100))
		assert.Equal(t, b.Snapshot().Dropped, stuck.Missed(), "it learns of all it lost")
	})
}
