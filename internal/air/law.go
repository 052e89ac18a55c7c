package air

import "math"

// Law says how the throughput of a leak depends on the pressure difference, from
// a thin gap (Inertial 0: the laminar law in p²) to a hole (Inertial 1: the law of
// Saint-Venant and Wantzel to first order), with all real gaps, which have some
// entry loss, in between:
//
//	F(x) = x·(1 − κ·x/p_a)            κ = ∓0.5 + 0.57·s  (− for pressure, + for suction)
//	(1−s)·y + s·y² = F(x)/F(At)       y = throughput / throughput at the stated difference
//
// where κ's first term is the compressibility of the laminar law and 0.57 fits the
// expansion of a hole. Where F would fall again (beyond p_a/2κ: a choked hole, or a
// laminar gap into vacuum) it stays at its peak. Below zero the law is continued
// as an odd function.
type Law struct {
	Sign     Sign
	At       float64 // stated pressure difference where the ratio is 1, positive, Pa
	Ambient  float64 // absolute pressure of the room, Pa
	Inertial float64 // inertial share s at the stated difference, 0 to 1
}

// Ratio returns the throughput at a pressure difference (Pa) over the throughput
// at the stated one.
func (l Law) Ratio(difference float64) float64 {
	f, _, _ := l.drive(math.Abs(difference))
	y, _ := share(f, l.Inertial)
	return math.Copysign(y, difference)
}

// Derivatives returns [Law.Ratio] together with its derivatives by the pressure
// difference (1/Pa) and by the inertial share. For a pure hole (Inertial 1) the
// slope is +Inf at zero difference, as the square root's is; everywhere else all
// three are finite. An estimator that steps a little below share 0 still gets the
// smooth continuation of the law, up to a ratio of about 1/(2·|share|).
func (l Law) Derivatives(difference float64) (ratio, byDifference, byShare float64) {
	f, dfdx, dfds := l.drive(math.Abs(difference))
	y, root := share(f, l.Inertial)
	byDifference = dfdx / root
	if f == 0 {
		// At rest nothing flows, whatever the share.
		return 0, byDifference, 0
	}
	byShare = (y*(1-y) + dfds) / root
	if difference < 0 {
		return -y, byDifference, -byShare
	}
	return y, byDifference, byShare
}

// share solves (1−s)y + s·y² = f for y ≥ 0 in the form that loses no digits as s
// goes to 0. The root it also returns is the left side's derivative by y.
func share(f, s float64) (y, root float64) {
	root = math.Sqrt((1-s)*(1-s) + 4*s*f)
	if f == 0 {
		return 0, root
	}
	return 2 * f / ((1 - s) + root), root
}

// drive returns F(x)/F(At) for x ≥ 0 and its derivatives by x and by the share,
// on which κ depends.
func (l Law) drive(x float64) (f, dfdx, dfds float64) {
	const byShare = 0.57 // dκ/ds
	kappa := -0.5*float64(l.Sign) + byShare*l.Inertial
	fx, slope, fxByKappa := expansion(x, kappa, l.Ambient)
	ref, _, refByKappa := expansion(l.At, kappa, l.Ambient)
	f = fx / ref
	return f, slope / ref, byShare * (fxByKappa - f*refByKappa) / ref
}

// expansion returns F(x) = x(1 − κx/p_a), held at its peak, and its derivatives
// by x and by κ.
func expansion(x, kappa, ambient float64) (f, byX, byKappa float64) {
	if kappa > 0 && x > ambient/(2*kappa) {
		peak := ambient / (4 * kappa)
		return peak, 0, -peak / kappa
	}
	r := x / ambient
	return x * (1 - kappa*r), 1 - 2*kappa*r, -x * r
}
