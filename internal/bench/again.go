package bench

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// Repeat is a hold fitted again from what the ledger keeps of it: the picture of the hold,
// and whether its record can be believed.
type Repeat struct {
	// Told is what the fit was told.
	Told Told
	// Hold is the hold in the stored readings, nil where they show none.
	Hold *hold.Hold
	// Fit is what the fit says now, with its curve; of a hold that is nil or was never
	// isolated it has no figures. What only the live bench knew (notes of gauge and rig,
	// where a limit came from) is in the record alone.
	Fit trial.Outcome
	// Wedge is where a joint just within the limit that counted would be; none without one.
	Wedge []decay.Point
	// Residuals are readings less curve over the stretch that counted, in Pa as the gauge
	// shows it.
	Residuals []Residual
	// Agreement says how Fit stands to the record, and Why what differs or hindered it.
	Agreement Agreement
	Why       string
}

// Residual is a reading less the fitted curve.
type Residual struct {
	T  float64 // s on the stream's clock
	Pa float64
}

// Agreement says whether a stored result could be repeated.
type Agreement uint8

const (
	// NotRepeated: there is no result, or it was made by another method or from what was not kept.
	NotRepeated Agreement = iota
	// Agrees: each figure is the recorded one within [closeEnough] of its uncertainty.
	Agrees
	// Differs: at least one is not.
	Differs
)

// String returns the agreement in words.
func (a Agreement) String() string {
	switch a {
	case Agrees:
		return "agrees"
	case Differs:
		return "differs"
	}
	return "not repeated"
}

// closeEnough is how far a repeated value may lie from the recorded one, as a share of the
// recorded standard uncertainty: what another machine's arithmetic may do, and no more.
const closeEnough = 0.01

// Again fits a stored hold again, as the live bench did: it is cut out of the readings as it
// was, and the same fit is told the same. It is a pure function and takes some milliseconds.
// An error means that the record cannot be read; that it cannot be repeated is none.
func Again(h *ledger.Hold) (Repeat, error) {
	var r Repeat
	var recorded trial.Outcome
	var err error
	if r.Told, err = ReadTold(h.Begin.Setup); err != nil {
		return r, fmt.Errorf("fit hold %s again: %w", h.Begin.ID, err)
	}
	if h.End != nil {
		if recorded, err = h.End.Judged(); err != nil {
			return r, fmt.Errorf("fit hold %s again: %w", h.Begin.ID, err)
		}
	}
	fault := r.fit(h, recorded)
	switch why := unrepeatable(h, recorded); {
	case why != "":
		r.Why = why
	case fault != nil:
		r.Agreement, r.Why = Differs, fault.Error()
	default:
		r.Agreement = Agrees
		if r.Why = strayed(recorded, r.Fit); r.Why != "" {
			r.Agreement = Differs
		}
	}
	return r, nil
}

// fit makes the hold again and fits it.
func (r *Repeat) fit(h *ledger.Hold, recorded trial.Outcome) (err error) {
	if r.Hold, err = stored(h, recorded); r.Hold == nil {
		return err
	}
	setup := r.Told.Setup(r.Hold.Sign)
	limit := LimitOf(r.Told.Limit, setup, r.Hold)
	if d := recorded.Decision; d != nil {
		limit = trial.Limit(d.Limit) // it may have been the shop's
	}
	r.Fit = trial.Judge(r.Hold, setup, limit)
	if d := recorded.Decision; d != nil {
		r.Fit.Withhold(d.WithheldBecause())
	}
	if n := len(r.Fit.Curve); n > 0 {
		r.Wedge = wedge(r.Hold, setup, limit, r.Fit.Curve[n-1].T-r.Hold.Isolation)
	}
	r.Residuals = residuals(r.Hold, r.Fit)
	return nil
}

// stored makes the hold of a record again from the readings kept, or finds it where the
// record is of before its parts were kept; nil when there is none.
func stored(h *ledger.Hold, recorded trial.Outcome) (*hold.Hold, error) {
	if h.End != nil && h.End.Parts != nil {
		return hold.Assemble(h.Trace, *h.End.Parts)
	}
	found := hold.Find(h.Trace)
	switch {
	case len(found) == 0:
		return nil, nil
	case recorded.Hold == nil:
		return found[len(found)-1], nil
	}
	// The time kept before a draw may hold an earlier one, and one that was drawn again is
	// followed by the begin of the next.
	away := func(h *hold.Hold) float64 {
		if !h.Isolated() {
			return math.Inf(1)
		}
		return math.Abs(h.Isolation - recorded.Hold.Start)
	}
	return slices.MinFunc(found, func(a, b *hold.Hold) int { return cmp.Compare(away(a), away(b)) }), nil
}

// residuals are taken over the stretch that the result rests on.
func residuals(h *hold.Hold, fit trial.Outcome) []Residual {
	if fit.Hold == nil {
		return nil
	}
	var all []Residual
	for i := h.Held.From; i < h.Held.To; i++ {
		t := h.Readings[i].Seconds()
		if at, ok := along(fit.Curve, t); ok && h.Usable(i) && t <= fit.Hold.End {
			all = append(all, Residual{t, h.Readings[i].Pressure - at})
		}
	}
	return all
}

// along is the curve's pressure at a time, by the cubic through the four points about it
// (Lagrange): a straight line would be off by more than the noise where the warmth fades.
func along(curve []decay.Point, t float64) (pa float64, ok bool) {
	n := len(curve)
	if n < 2 || t < curve[0].T || t > curve[n-1].T {
		return 0, false
	}
	after, _ := slices.BinarySearchFunc(curve, t, func(p decay.Point, t float64) int { return cmp.Compare(p.T, t) })
	first := min(max(after-2, 0), max(n-4, 0))
	about := curve[first:min(first+4, n)]
	for i, p := range about {
		weight := 1.0
		for j, q := range about {
			if i != j {
				weight *= (t - q.T) / (p.T - q.T)
			}
		}
		pa += weight * p.Pressure
	}
	return pa, true
}

// unrepeatable says why a record has nothing to compare with; empty when it has.
func unrepeatable(h *ledger.Hold, recorded trial.Outcome) string {
	switch {
	case h.End == nil:
		return "the hold is still being measured, or was interrupted"
	case h.End.Interrupted || len(h.End.Outcome) == 0:
		return "the hold was interrupted and has no result"
	case recorded.Method != decay.Method:
		return fmt.Sprintf("the record was made by method %q, this program has %q", recorded.Method, decay.Method)
	case h.End.Parts == nil && recorded.Hold != nil:
		return "the record is of before it kept where the hold lies in its readings"
	case len(h.Begin.Setup) == 0:
		return "the record does not keep what the fit was told"
	case h.End.LostReadings > 0:
		return fmt.Sprintf("%d readings that the fit had could not be kept", h.End.LostReadings)
	}
	return ""
}

// strayed says which figures of a record are not those of the fit now; empty when all are.
func strayed(recorded, now trial.Outcome) string {
	var all error
	differ := func(what string, was, is any) {
		if was != is {
			all = errors.Join(all, fmt.Errorf("%s: recorded %v, now %v", what, was, is))
		}
	}
	figure := func(what string, was, is *trial.Value) {
		if err := apart(was, is); err != nil {
			all = errors.Join(all, fmt.Errorf("%s: %w", what, err))
		}
	}
	figure("leakage rate", leak(recorded), leak(now))
	figure("leakage rate in sccm", sccm(recorded), sccm(now))
	figure("pressure rate", recorded.PressureRate, now.PressureRate)
	figure("time constant", recorded.TimeConstant, now.TimeConstant)
	figure("inertial share", recorded.InertialShare, now.InertialShare)
	figure("zero", recorded.Zero, now.Zero)
	differ("disturbed", recorded.Disturbed, now.Disturbed)
	differ("verdict", string(recorded.Verdict), string(now.Verdict))
	if recorded.Hold != nil || now.Hold != nil {
		differ("sign", recorded.Sign, now.Sign)
		differ("stated difference in Pa", recorded.At, now.At)
	}
	if all == nil {
		return ""
	}
	return all.Error()
}

// apart says how two figures differ by more than [closeEnough]; nil when they do not.
func apart(was, is *trial.Value) error {
	switch {
	case was == nil && is == nil:
		return nil
	case was == nil:
		return fmt.Errorf("recorded none, now %.6g", is.Value)
	case is == nil:
		return fmt.Errorf("recorded %.6g, now none", was.Value)
	}
	room := closeEnough * was.U
	if math.Abs(was.Value-is.Value) <= room && math.Abs(was.U-is.U) <= room {
		return nil
	}
	return fmt.Errorf("recorded %.6g (u %.3g), now %.6g (u %.3g)", was.Value, was.U, is.Value, is.U)
}

func leak(o trial.Outcome) *trial.Value {
	if o.LeakRate == nil {
		return nil
	}
	return &trial.Value{Value: o.LeakRate.Value, U: o.LeakRate.U}
}

func sccm(o trial.Outcome) *trial.Value {
	if o.SCCM == nil {
		return nil
	}
	return &trial.Value{Value: o.SCCM.Value, U: o.SCCM.U}
}
