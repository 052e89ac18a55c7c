package main

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"boretight/internal/gauge/sim"
	"boretight/internal/trace"
)

// The Cramér–Rao bound of one hold, for the same unknowns that the estimate has and with
// the same beliefs about them as further rows, but from nothing of the estimate's: the
// derivatives are differences between simulated curves, the beliefs are stated once more.

// unknowns is a joint and its leak, as far as an estimate has to find it out.
type unknowns struct {
	rate   float64    // leakage rate at the stated difference, Pa·m³/s
	share  float64    // inertial share
	start  float64    // Δ at isolation, Pa
	bore   float64    // ln of the mean radius over the told one
	taper  float64    // w²
	narrow float64    // share of the volume in hose and stoppers
	warm   float64    // K/s of the walls
	creep  [4]float64 // share of Δ at each of creepTaus; at most one may differ from 0
}

var creepTaus = [4]float64{0.5, 1.2, 3, 7.5} // s

// told is what is told of a hold, and what is not unknown: base has the room, the draw,
// the times and the gauge.
type told struct {
	base           sim.Scenario
	volume, radius float64 // m³ and m
}

// scenario is the hold with the unknowns as given, seen by a gauge without noise.
func (k told) scenario(u unknowns) (sim.Scenario, error) {
	s := k.base
	s.Air.AmbientDrift, s.Air.WallDrift = 0, u.warm
	s.Sensor = sim.Sensor{Rate: s.Sensor.Rate, Zero: s.Sensor.Zero}
	s.Holds = []sim.Hold{s.Holds[0]}
	s.Holds[0].Draw.To = u.start
	s.Holds[0].Vent.Open = 0
	leak, err := sim.NewLeak(u.rate, u.share, sim.StatedPa, s.Holds[0].Sign, s.Air)
	if err != nil {
		return s, err
	}
	s.Leaks = []sim.Leak{leak}
	var creep sim.Creep
	for j, kappa := range u.creep {
		if kappa == 0 {
			continue
		}
		if creep.Tau != 0 {
			return s, errors.New("simulate a joint that creeps at two paces: it has only one creep")
		}
		creep = sim.Creep{Kappa: kappa, Tau: creepTaus[j]}
	}
	volume := k.volume / (1 + creep.Kappa) // the told one includes what creeps in the end
	w, radius := math.Sqrt(u.taper), k.radius*math.Exp(u.bore)
	hose := sim.Hose(1)
	hose.Volume = u.narrow * volume
	s.Joint = sim.Joint{Segments: append(sim.Taper(radius*(1-w), radius*(1+w), volume-hose.Volume, 5), hose), Creep: creep}
	return s, nil
}

// curve simulates the hold.
func (k told) curve(u unknowns) (trace.Trace, sim.Truth, error) {
	s, err := k.scenario(u)
	if err != nil {
		return trace.Trace{}, sim.Truth{}, err
	}
	tr, truths, err := s.Run()
	if err != nil {
		return trace.Trace{}, sim.Truth{}, err
	}
	return tr, truths[0], nil
}

// direction is one unknown: how to move along it, by how much either way, and what is
// believed of it.
type direction struct {
	name     string
	move     func(u *unknowns, by float64)
	step     float64
	believed belief
	now      float64 // where the belief's bounds are those of what can be simulated, too
}

// directions of a hold. The first is ln of the leakage rate.
func (k told) directions(at unknowns) []direction {
	b := k.beliefs(at.rate)
	d := []direction{
		{"rate", func(u *unknowns, by float64) { u.rate *= math.Exp(by) }, 0.01, nothing, 0},
		{"share", func(u *unknowns, by float64) { u.share += by }, 0.02, b.share, at.share},
		{"start", func(u *unknowns, by float64) { u.start += by }, 10, nothing, 0},
		{"bore", func(u *unknowns, by float64) { u.bore += by }, 0.03, b.bore, 0},
		{"taper", func(u *unknowns, by float64) { u.taper += by }, 0.005, b.taper, at.taper},
		{"narrow", func(u *unknowns, by float64) { u.narrow += by }, 0.005, b.narrow, at.narrow},
		{"warm", func(u *unknowns, by float64) { u.warm += by }, 2e-4, b.warm, 0},
	}
	for j, c := range b.creep {
		d = append(d, direction{
			fmt.Sprintf("creep of %g s", creepTaus[j]),
			func(u *unknowns, by float64) { u.creep = [4]float64{}; u.creep[j] = by }, 0.004, c, 0,
		})
	}
	return d
}

// oneWay is the step away from an edge of what can be that is too near; 0 if none is.
func (d direction) oneWay() float64 {
	switch {
	case d.now-d.step < d.believed.low:
		return d.step
	case d.now+d.step > d.believed.high:
		return -d.step
	}
	return 0
}

// difference is the derivative of the readings along a direction, in Pa per unit: from
// both sides, or, at the edge of what can be, from three places on one side.
func (k told) difference(at unknowns, d direction, there trace.Trace) ([]float64, error) {
	places, weights := []float64{d.step, -d.step}, []float64{0.5 / d.step, -0.5 / d.step}
	rest := 0.0
	if one := d.oneWay(); one != 0 {
		places, weights, rest = []float64{one, 2 * one}, []float64{2 / one, -0.5 / one}, -1.5/one
	}
	out := make([]float64, len(there.Readings))
	for i, r := range there.Readings {
		out[i] = rest * r.Pressure
	}
	for p, by := range places {
		u := at
		d.move(&u, by)
		tr, _, err := k.curve(u)
		if err != nil {
			return nil, fmt.Errorf("move along %s by %g: %w", d.name, by, err)
		}
		if len(tr.Readings) != len(out) {
			return nil, fmt.Errorf("move along %s by %g: %d readings, not %d", d.name, by, len(tr.Readings), len(out))
		}
		for i, r := range tr.Readings {
			out[i] += weights[p] * r.Pressure
		}
	}
	return out, nil
}

// bound is what can be known of the relative leakage rate from one hold.
type bound struct {
	variance  float64 // of the error, over noise and over what is believed
	scatter   float64 // of an efficient estimate, over noise alone
	start     float64 // Δ at isolation, Pa
	intervals float64 // s between readings
	held      float64 // s, until the vent or until the difference is as good as gone
	tau       float64 // time constant, s
}

// bound computes the bound about a place in white noise of sigma Pa.
func (k told) bound(at unknowns, sigma float64) (bound, error) {
	tr, truth, err := k.curve(at)
	if err != nil {
		return bound{}, err
	}
	all := k.directions(at)
	n := len(all) + 3
	zero, drift, vent := n-3, n-2, n-1
	columns := make([][]float64, len(all))
	for j, d := range all {
		if columns[j], err = k.difference(at, d, tr); err != nil {
			return bound{}, err
		}
	}
	data := mat.NewSymDense(n, nil)
	row := make([]float64, n)
	quiet, gone := k.quiet(truth), k.gone(tr, truth)
	for i, r := range tr.Readings {
		t := r.Seconds()
		clear(row)
		row[zero], row[drift] = 1, t-truth.Isolated
		switch {
		case t < k.base.Holds[0].Rest: // before the draw
		case t < truth.Isolated:
			continue
		case t <= gone:
			for j := range columns {
				row[j] = columns[j][i]
			}
		case t > quiet: // the rest after
			row[vent] = 1
		default:
			continue
		}
		data.SymRankOne(data, 1/(sigma*sigma), mat.NewVecDense(n, row))
	}
	whole := mat.NewSymDense(n, nil)
	whole.CopySym(data)
	believe := func(j int, variance float64) { whole.SetSym(j, j, whole.At(j, j)+1/variance) }
	for j, d := range all {
		believe(j, d.believed.variance())
	}
	believe(drift, zeroDrift*zeroDrift)
	believe(vent, math.Pow(ventLeft*truth.DeltaVented, 2))
	return solve(data, whole, bound{
		start: truth.DeltaIsolated, intervals: 1 / k.base.Sensor.Rate, held: gone - truth.Isolated, tau: truth.TimeConstant,
	})
}

// gone is when the hold is over: vented, or a fiftieth of the difference left.
func (k told) gone(tr trace.Trace, t sim.Truth) float64 {
	for _, r := range tr.Readings {
		at := r.Seconds()
		if at > t.Isolated && math.Abs(r.Pressure-k.base.Sensor.Zero) < t.DeltaIsolated/50 {
			return at
		}
	}
	return t.Vented
}

// quiet is when, after the vent, the air is as warm as the wall again.
func (k told) quiet(t sim.Truth) float64 {
	const diffusivity = 2.135e-5 // m²/s at 20 °C and one atmosphere
	return t.Vented + max(5*k.radius*k.radius/(7.18*diffusivity), 10*k.base.Holds[0].Vent.Tau)
}

// solve inverts the information, the beliefs included, for the first unknown.
func solve(data, whole *mat.SymDense, b bound) (bound, error) {
	n := whole.SymmetricDim()
	// To a unit diagonal first: the units differ by many powers of ten.
	scale := make([]float64, n)
	for i := range n {
		scale[i] = 1 / math.Sqrt(whole.At(i, i))
	}
	even := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			even.SetSym(i, j, whole.At(i, j)*scale[i]*scale[j])
		}
	}
	var c mat.Cholesky
	if !c.Factorize(even) {
		return bound{}, errors.New("invert the information of a hold: some unknown is neither measured nor believed")
	}
	first := mat.NewVecDense(n, nil)
	first.SetVec(0, 1)
	var x mat.VecDense
	if err := c.SolveVecTo(&x, first); err != nil {
		return bound{}, fmt.Errorf("invert the information of a hold: %w", err)
	}
	for i := range n {
		x.SetVec(i, x.AtVec(i)*scale[i]*scale[0])
	}
	b.variance = x.AtVec(0)
	b.scatter = mat.Inner(&x, data, &x)
	return b, nil
}
