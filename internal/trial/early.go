package trial

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"boretight/internal/decay"
	"boretight/internal/hold"
)

// knowing is the uncertainty, as a share of the limit, at which an early verdict needs
// the least: most joints are told from the limit when it is a few times better known.
const knowing = 0.1

// Early is the verdict that a running estimate allows, however often it is looked at.
//
// Asking of every look what is asked of a finished hold would be wrong too often: of
// many looks one is sure to be unlucky. As readings come in, an estimate wanders like
// Brownian motion in the information 1/u², so that the mixture
//
//	M = 2·√(I₀/(I₀+I))·exp(z²I/(2(I₀+I)))·Φ(z·√(I/(I₀+I)))
//
// over normal drifts away from the limit, with z the distance from the limit in u, is a
// martingale that ever reaches 1/0.05 with a probability of 0.05 at most when the leak
// is on the other side (Ville 1939; Robbins 1970; Howard, Ramdas, McAuliffe and Sekhon
// 2021). What all looks have in common, like the volume's uncertainty, is in u and only
// makes them wander less.
func Early(q decay.Estimate, limit Limit) Verdict {
	if !(q.U > 0) || !(limit > 0) || math.IsNaN(q.Value) {
		return Inconclusive
	}
	z := (float64(limit) - q.Value) / q.U
	known := knowing * float64(limit) / q.U
	share := known * known / (1 + known*known) // I/(I₀+I)
	size := math.Abs(z)
	logM := math.Log(2) + math.Log1p(-share)/2 + size*size*share/2 + math.Log(distuv.UnitNormal.CDF(size*math.Sqrt(share)))
	switch {
	case logM < -math.Log(1-sure):
		return Inconclusive
	case z > 0:
		return Pass
	}
	return Fail
}

// earlyRule is the decision rule of an early verdict in words.
const earlyRule = "while the hold goes on: pass or fail as soon as the estimate lies so far from the limit that, however often it is looked at, the risk of ever being wrong is at most 5 % (sequential test after Robbins, 1970); the finished hold is judged by its own rule"

// JudgeLook states what an estimate made while the hold is under way says of the limit.
func JudgeLook(h *hold.Hold, r decay.Result, limit Limit) Outcome {
	o := outcome(h, r, limit)
	if o.Decision == nil || r.LeakRate == nil {
		return o
	}
	finished := o.Verdict
	o.Verdict, o.Decision.Rule = Early(*r.LeakRate, limit), earlyRule
	if o.Verdict == Inconclusive && finished != Inconclusive {
		o.Decision.Next = "a little more of the same hold"
	}
	if o.Verdict == Inconclusive {
		o.Decision.Wait = wait(o, limit)
	}
	return o
}

// wait is how many seconds more of the hold would decide, see [Decision.Wait]. What all
// looks have in common stays, the rest falls like the noise of a decay that is fitted
// longer: an expectation for people, not a promise.
func wait(o Outcome, limit Limit) float64 {
	stretch, tau := stretchOf(o)
	if !(stretch > 0) {
		return 0
	}
	var own, common float64
	for _, l := range linesOf(o) {
		if l.Shared {
			common = math.Hypot(common, l.U)
		} else {
			own = math.Hypot(own, l.U)
		}
	}
	now := knowledge(stretch / tau)
	decides := func(seconds float64) bool {
		q := o.LeakRate.Estimate
		q.U = math.Hypot(common, own*knowledge((stretch+seconds)/tau)/now)
		return Early(q, limit) != Inconclusive
	}
	if !decides(mostSeconds) {
		return 0
	}
	low, high := 0.0, float64(mostSeconds)
	for high-low > 0.1 {
		if middle := (low + high) / 2; decides(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return math.Ceil(high)
}
