package gauge

import (
	"context"
	"io"
)

// Seams for tests: what cannot be reached through an address.
var (
	Explain = explain
)

// Timings that tests under a false clock count on.
const (
	ReadTimeout  = readTimeout
	SilentAfter  = silentAfter
	DecodeWithin = decodeWithin
	AskAgain     = askAgain
	FirstWait    = firstWait
	LongestWait  = longestWait
)

// FakeGauge listens to devices of a test's own.
type FakeGauge struct {
	listener
	open func() (io.ReadWriteCloser, error)
}

// NewFake returns a gauge whose device comes from open.
func NewFake(open func() (io.ReadWriteCloser, error), o Options) *FakeGauge {
	return &FakeGauge{newListener(Address{Scheme: Serial, Target: "fake"}, o), open}
}

// Run implements [Gauge].
func (g *FakeGauge) Run(ctx context.Context, sink Sink) error {
	return g.run(ctx, sink, func(context.Context) (device, error) { return g.open() },
		func(err error) error { return classify(reading, g.address, err) })
}
