// Package replay plays a recorded trace as if a gauge gave it: at the pace of its own
// times, faster or slower by a factor, or as fast as it is taken. Readings are passed
// on unchanged and in order, in blocks as a live gauge gives them.
package replay

import (
	"context"
	"slices"
	"time"

	"boretight/internal/trace"
)

const (
	// blockSpan is the time that a block of readings covers at most when paced; a
	// live page moves smoothly with it.
	blockSpan = 20 * time.Millisecond
	// blockLength is the number of readings in a block when not paced.
	blockLength = 1024
)

// Play calls take with the readings of t, in order, until all are out (nil) or ctx
// ends (its error). Speed 1 is the pace of the recording; 0 does not wait at all.
// T counts from the first reading, plus resume.
func Play(ctx context.Context, t trace.Trace, speed float64, resume time.Duration, take func([]trace.Reading)) error {
	rest := t.Readings
	if len(rest) == 0 {
		return ctx.Err()
	}
	first := rest[0].T
	start := time.Now()
	timer := time.NewTimer(0)
	defer timer.Stop()
	block := make([]trace.Reading, 0, blockLength)
	for len(rest) > 0 {
		n := blockOf(rest, speed)
		if speed > 0 {
			// A block is due when its last reading is.
			due := time.Duration(float64(rest[n-1].T-first) / speed)
			timer.Reset(time.Until(start.Add(due)))
			select {
			case <-ctx.Done():
			case <-timer.C:
			}
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		block = append(block[:0], rest[:n]...)
		for i := range block {
			block[i].T += resume - first
		}
		take(block)
		rest = rest[n:]
	}
	return nil
}

// blockOf returns how many of the readings make the next block.
func blockOf(rest []trace.Reading, speed float64) int {
	if speed <= 0 {
		return min(len(rest), blockLength)
	}
	span := time.Duration(speed * float64(blockSpan))
	n := 1
	for n < len(rest) && n < blockLength && rest[n].T-rest[0].T < span {
		n++
	}
	return n
}

// Rate returns the median number of readings a second, 0 if there are too few.
func Rate(t trace.Trace) float64 {
	steps := make([]time.Duration, 0, len(t.Readings))
	for i := 1; i < len(t.Readings); i++ {
		if step := t.Readings[i].T - t.Readings[i-1].T; step > 0 {
			steps = append(steps, step)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return 1 / steps[(len(steps)-1)/2].Seconds()
}
