package bench

import (
	"math"

	"boretight/internal/trace"
)

const (
	// hardLimit in Pa: pads, old skins and glue are not made for more. Common
	// practice, no source.
	hardLimit = 6000
	// hardLimitEnds in Pa is where the warning goes again; lower, so that it does not flicker.
	hardLimitEnds = 5800
)

// The cautions of [StateData.Warning].
const (
	warnHigh      = "over 6 kPa: let it down now"
	warnSaturated = "the gauge is at the end of its range: let it down"
	warnFaulty    = "the gauge says that its sensor has a fault"
	warnSupply    = "the gauge says that its supply is low"
)

// warning returns the caution that must be seen at reading r, which lies relative
// Pa from rest, given the one shown before.
func warning(before string, r trace.Reading, relative float64) string {
	limit := float64(hardLimit)
	if before == warnHigh {
		limit = hardLimitEnds
	}
	switch {
	case r.Status&trace.Faulty != 0:
		return warnFaulty
	case r.Status&trace.Saturated != 0:
		return warnSaturated
	case math.Abs(relative) > limit:
		return warnHigh
	case r.Status&trace.SupplyLow != 0:
		return warnSupply
	}
	return ""
}
