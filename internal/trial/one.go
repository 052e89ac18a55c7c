package trial

import (
	"fmt"
	"math"

	"boretight/internal/decay"
)

const (
	// widened is from how much wider an uncertainty on it is said why; the trial of one
	// hold stands beside that hold, so that less of a difference is seen.
	widened, widenedOne = 1.1, 1.02
)

// widening says why a trial is less sure of itself than its own holds make it: what earlier
// trials showed of how holds repeat is in it. It is empty where that hardly shows. per is how
// many sccm a Pa·m³/s is, 0 when that is not known.
func widening(holds int, with, alone combined, per float64) string {
	from := widened
	if holds == 1 {
		from = widenedOne
	}
	times := with.U / alone.U
	if !(times > from && times < math.Inf(1)) {
		return ""
	}
	unit := "sccm"
	if per == 0 {
		per, unit = 1, "Pa·m³/s"
	}
	own := "of the hold itself"
	if holds > 1 {
		own = fmt.Sprintf("of its own %d holds", holds)
	}
	return fmt.Sprintf("Earlier trials on this rig make the uncertainty of this one %.2g times that %s (± %s in place of ± %s, k = 2): their holds differed from one to the next by more than each states.",
		times, own, doubt(with.Estimate, per, unit), doubt(alone.Estimate, per, unit))
}

// doubt is an expanded uncertainty for people.
func doubt(e decay.Estimate, per float64, unit string) string {
	return fmt.Sprintf("%.2g %s", 2*e.U*per, unit)
}
