package gauge

import (
	"sync"
	"time"
)

const (
	// askAgain is when a gauge that has not answered is asked once more: a board
	// that resets on opening was not listening the first time.
	askAgain = 2500 * time.Millisecond
	// writeWithin is how long the end of a write is waited for after the device was
	// closed, which on some systems does not end it.
	writeWithin = time.Second
)

// asker asks a gauge who it is. It writes from a goroutine of its own, because a
// write to a device that takes nothing may never return, and reading must not wait
// for it. It writes four bytes in all, which fit in any buffer.
type asker struct {
	stop, done chan struct{}
	once       sync.Once
}

func startAsking(dev device) *asker {
	a := &asker{stop: make(chan struct{}), done: make(chan struct{})}
	go func() {
		defer close(a.done)
		for range 2 {
			// An error means that the device is gone, which the reader notices.
			if _, err := dev.Write([]byte("?\n")); err != nil {
				return
			}
			select {
			case <-a.stop:
				return
			case <-time.After(askAgain):
			}
		}
	}()
	return a
}

// silentAsker asks nothing: a gauge without a name would take it for who knows what.
func silentAsker() *asker {
	a := &asker{stop: make(chan struct{}), done: make(chan struct{})}
	close(a.done)
	return a
}

// answered ends the asking.
func (a *asker) answered() { a.once.Do(func() { close(a.stop) }) }

// finish waits for the goroutine's end, after the device was closed.
func (a *asker) finish() (ended bool) {
	a.answered()
	select {
	case <-a.done:
		return true
	case <-time.After(writeWithin):
		return false
	}
}
