package decay

import (
	"math"

	"boretight/internal/hold"
)

// Fit estimates the leakage rate of a hold. Equal holds and setups give equal
// results. It never fails: what cannot be given is nil, and the notes say why.
func Fit(h *hold.Hold, s Setup) Result {
	res := Result{At: s.At, Sign: h.Sign, Method: Method, Dof: math.Inf(1)}
	if res.At <= 0 {
		res.At = DefaultAt
	}
	k := complete(h, s)
	res.Temperature = k.temp.Value
	if reason := unfit(h); reason != "" {
		res.Status = Refused
		res.Notes = []string{reason}
		return res
	}
	found := clean(h, k)
	f := found.f
	res.Disturbed = found.disturbed()
	res.Notes = found.tell()
	res.Assumed = k.assumed
	if found.fault != "" {
		res.Status = f.status()
		res.Notes = append(res.Notes, found.fault)
		return res
	}
	f.report(&res, found.part.span)
	res.Curve = f.curvePoints()
	return res
}

// fitted fits a stretch of a hold; problem says why it cannot be, in a sentence.
func fitted(h *hold.Hold, used stretch, k known) (f *fitter, problem string) {
	f = newFitter(newData(h, used, k), k)
	if len(f.d.samples) < fewest {
		return f, tooFew(len(f.d.samples))
	}
	if !f.lookAround() || !f.refine() {
		return f, "The readings do not look like a decay: the fit did not settle (" + f.sol.stop.String() + "). Hold again, and keep still."
	}
	return f, ""
}

func (f *fitter) status() Status {
	if len(f.d.samples) < fewest {
		return Refused
	}
	return NoFit
}
