//go:build !windows

package gauge

import "time"

// newCounter returns a clock that counts from now on: the monotonic clock, which
// counts nanoseconds on these systems.
func newCounter() func() time.Duration {
	start := time.Now()
	return func() time.Duration { return time.Since(start) }
}
