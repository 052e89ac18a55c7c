package gauge

import "io"

// NewFakeAt is NewFake with an address that may say more.
func NewFakeAt(a Address, open func() (io.ReadWriteCloser, error), o Options) *FakeGauge {
	return &FakeGauge{newListener(a, o), open}
}
