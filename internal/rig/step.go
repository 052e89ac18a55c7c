package rig

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

const doingStep = "find syringe step"

// Step is where in a record a syringe moved, with what lies on both sides of it.
type Step struct {
	Before, After Side
	// Instant is when half of the change had come, InstantU how well that stands for the
	// whole movement, both in s. A movement's centre of mass is what counts: half way lies
	// within a sixth of the duration of it (a seventh where the plunger slows down
	// exponentially), which is a rectangle's half-width.
	Instant, InstantU float64
}

// FindStep finds the one step of a syringe in readings of a sealed bore, and carries what
// lies before and after it to its instant. settle is how long the heat takes, in s; see
// [SettleTime].
//
// The step is where the mean of ¾ to 1 s ahead differs most from that of ¾ to 1 s back, so a hand may take up to 1.5 s for it. Its beginning and end are where a tenth
// and nine tenths of the change have come; the warmth's overshoot comes later and does
// not matter.
func FindStep(samples []Sample, settle float64) (Step, error) {
	if !slices.IsSortedFunc(samples, func(a, b Sample) int { return cmp.Compare(a.Seconds, b.Seconds) }) {
		return Step{}, &Refusal{doingStep, "readings out of order", ""}
	}
	centre, from, to := largestChange(samples)
	if centre < 0 {
		return Step{}, &Refusal{doingStep, fmt.Sprintf("%d readings, too short a record for a step with rest on both sides", len(samples)), "hold still for at least 3 s before and after the step"}
	}
	begin, half, end := movement(samples, centre, from, to)
	s := Step{Instant: half, InstantU: (end - begin) / 6 / math.Sqrt(3)}
	// A movement begins and ends softly: a tenth of it lies outside on either side.
	margin := 0.1 + 0.25*(end-begin)
	var err error
	if s.Before, err = Carry(between(samples, math.Inf(-1), begin-margin), half); err != nil {
		return Step{}, fmt.Errorf("before the step: %w", err)
	}
	if s.After, err = Carry(between(samples, end+max(settle, margin), math.Inf(1)), half); err != nil {
		return Step{}, fmt.Errorf("after the step: %w", err)
	}
	return s, nil
}

// SettleTime returns how long after a step the heat of a bore takes to settle, in s: five
// times its slowest time constant. bore is the heat diameter in m, zero when not known.
func SettleTime(bore Measured, ambient, temperature float64) float64 {
	return newHeatLag(bore, ambient, temperature).settled
}

// largestChange returns the sample about which the pressure changes most, and the levels
// before and after it; -1 when nowhere is room for both.
func largestChange(samples []Sample) (centre int, from, to float64) {
	const near, far = 0.75, 1.0 // s from the centre
	centre = -1
	for i, s := range samples {
		back := between(samples, s.Seconds-far, s.Seconds-near)
		ahead := between(samples, s.Seconds+near, s.Seconds+far)
		if len(back) == 0 || len(ahead) == 0 {
			continue
		}
		a, b := level(back), level(ahead)
		if centre < 0 || math.Abs(b-a) > math.Abs(to-from) {
			centre, from, to = i, a, b
		}
	}
	return centre, from, to
}

// movement returns when a tenth, half and nine tenths of a change had come.
func movement(samples []Sample, centre int, from, to float64) (begin, half, end float64) {
	const window = 1.0 // s
	at := samples[centre].Seconds
	near := between(samples, at-window, at+window)
	crossed := func(share float64) float64 {
		for i, s := range near {
			if come := (s.Pressure - from) / (to - from); come >= share {
				if i == 0 {
					return s.Seconds
				}
				last := near[i-1]
				before := (last.Pressure - from) / (to - from)
				return last.Seconds + (share-before)/(come-before)*(s.Seconds-last.Seconds)
			}
		}
		return at
	}
	return crossed(0.1), crossed(0.5), crossed(0.9)
}

// between are the samples from one time up to, not including, another.
func between(samples []Sample, from, to float64) []Sample {
	place := func(t float64) int {
		i, _ := slices.BinarySearchFunc(samples, t, func(s Sample, t float64) int { return cmp.Compare(s.Seconds, t) })
		return i
	}
	return samples[place(from):max(place(from), place(to))]
}

// level is the mean pressure of samples.
func level(samples []Sample) (mean float64) {
	for _, s := range samples {
		mean += s.Pressure / float64(len(samples))
	}
	return mean
}
