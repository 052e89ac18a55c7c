package frames_test

import (
	"testing"

	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

// counter is a Handler that keeps nothing.
type counter struct{ readings int }

func (c *counter) Identity(frames.Identity) {}
func (c *counter) Reading(trace.Reading)    { c.readings++ }
func (c *counter) Break(error)              {}

// BenchmarkDecode feeds a second of a fast gauge in chunks as a port gives them.
func BenchmarkDecode(b *testing.B) {
	var second []byte
	const count = 1000
	seq, micros := uint32(0), uint32(0)
	fill := func() {
		second = second[:0]
		for range count {
			second = frames.AppendReading(second, seq, micros, trace.Reading{Pressure: -2503.5 + float64(seq%100)/4, Celsius: 24.57})
			seq++
			micros += 1000
		}
	}
	var d frames.Decoder
	c := &counter{}
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		fill()
		b.StartTimer()
		for rest := second; len(rest) > 0; {
			n := min(337, len(rest))
			if err := d.Feed(rest[:n], c); err != nil {
				b.Fatal(err)
			}
			rest = rest[n:]
		}
	}
	if counts := d.Counts(); counts.Readings != uint64(seq) || counts.Damaged != 0 {
		b.Fatalf("got %+v for %d readings", counts, seq)
	}
	b.ReportMetric(float64(b.N*count)/b.Elapsed().Seconds(), "frames/s")
}

func TestDecodingReadingsAllocatesNothing(t *testing.T) {
	var d frames.Decoder
	c := &counter{}
	seq := uint32(0)
	var stream []byte
	allocations := testing.AllocsPerRun(100, func() {
		stream = append(stream[:0], exampleIdentity...)
		for range 10 {
			stream = frames.AppendReading(stream, seq, seq*1000, trace.Reading{Pressure: 1.0 / 3 * float64(seq), Celsius: -0.1})
			seq++
		}
		stream = append(stream, "damaged\n$BTRD,*0000\n"...)
		if err := d.Feed(stream[:100], c); err != nil {
			t.Fatal(err)
		}
		if err := d.Feed(stream[100:], c); err != nil {
			t.Fatal(err)
		}
	})
	if allocations != 0 || c.readings != int(seq) {
		t.Errorf("%v allocations a run and %d of %d readings", allocations, c.readings, seq)
	}
}
