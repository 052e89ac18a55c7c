package trial

import (
	"fmt"
	"math"
)

// widened is from how much wider an interval on it is said why.
const widened = 1.1

// oneHold says why a trial of one hold is less sure of itself than the hold is: what
// earlier trials showed of how holds repeat is in the one and not in the other. It is empty
// where that hardly shows.
func oneHold(used []Outcome, m combined) string {
	if len(used) != 1 {
		return ""
	}
	own := used[0].LeakRate
	times := (m.High - m.Low) / (own.High - own.Low)
	if !(times > widened && times < math.Inf(1)) {
		return ""
	}
	return fmt.Sprintf("The interval is %.2g times as wide as that of the hold itself: earlier trials on this rig showed how far one hold differs from the next, which is in it.", times)
}
