package decay

import (
	"math"

	"boretight/internal/hold"
)

// lateVent finds the time, in s since isolation, at which what little was left of the
// difference was let out: the finder of holds, which cannot know whether a small
// difference leaks away or is let out, takes such a vent for the end of the decay.
func lateVent(h *hold.Hold) (t float64, found bool) {
	const (
		moment = 0.3  // s, the length of what is compared
		little = 0.25 // of Δ at the start: more, and it is a vent to the finder as well
		sudden = 0.4  // of what would be left by the steepest law there is
		least  = 20   // Pa, and so many times the noise:
		clear  = 8
	)
	d := data{hold: h, span: 1}
	var s []sample
	for i := h.Held.From; i < len(h.Readings); i++ { // and what came after
		if h.Usable(i) {
			s = append(s, d.at(i))
		}
	}
	if len(s) == 0 {
		return 0, false
	}
	sums := make([]float64, len(s)+1)
	for i, x := range s {
		sums[i+1] = sums[i] + x.y
	}
	// Six edges a moment apart; between them lie earlier, nothing, before, the vent, after.
	var at [6]int
	mean := func(k int) (y float64, some bool) {
		n := at[k+1] - at[k]
		return (sums[at[k+1]] - sums[at[k]]) / float64(max(n, 1)), n > 0
	}
	for _, x := range s {
		if x.y > 2*little*s[0].y {
			continue
		}
		for k := range at {
			for at[k] < len(s) && s[at[k]].t < x.t+moment*float64(k-3) {
				at[k]++
			}
		}
		if at[4] == len(s) {
			break
		}
		earlier, ok1 := mean(0) // centred 5/2 moments before x
		before, ok2 := mean(2)  // half a moment before
		after, ok3 := mean(4)   // 3/2 moments after: as far from before as that from earlier
		if !ok1 || !ok2 || !ok3 || before > little*s[0].y || before < max(least, clear*h.Noise) {
			continue
		}
		// Through a hole √Δ falls on a straight line; all other leaks are slower to end.
		root := 2*math.Sqrt(before) - math.Sqrt(max(earlier, before))
		if left := root * math.Abs(root); left > least/2 && after < sudden*left {
			return x.t, true
		}
	}
	return 0, false
}
