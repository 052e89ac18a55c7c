package decay

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"boretight/internal/hold"
)

const (
	// fewest usable readings a leakage rate is given from.
	fewest = 10
	// mostClipped is how many readings of a draw may be saturated.
	mostClipped = 3
	// mostUnusable is the share of held readings that may be lost or disowned.
	mostUnusable = 0.5
)

// unfit says why a hold cannot be fitted at all, or nothing.
func unfit(h *hold.Hold) string {
	n := h.Held.Len()
	switch {
	case !h.Isolated():
		return "The joint was drawn but never isolated, or not for long enough to tell: shut the valve at the stated difference and keep it shut for some seconds."
	case h.Clipped > mostClipped:
		return fmt.Sprintf("The gauge was saturated in %d readings of the draw, so that the moment of isolation is unknown: draw less, or take a gauge with more range.", h.Clipped)
	case h.Saturated*4 > n:
		return fmt.Sprintf("The gauge was saturated in %d of %d readings: draw less, or take a gauge with more range.", h.Saturated, n)
	case float64(h.Unusable) > mostUnusable*float64(n):
		return fmt.Sprintf("The gauge itself disowned %d of %d readings: look at its sensor and supply.", h.Unusable, n)
	case float64(h.Lost) > mostUnusable*float64(n+h.Lost):
		return fmt.Sprintf("%d of %d readings were lost: look at cable, hub and baud rate.", h.Lost, n+h.Lost)
	case n-h.Unusable < fewest:
		return tooFew(n - h.Unusable)
	}
	return ""
}

func tooFew(n int) string {
	return fmt.Sprintf("Only %d usable readings lie between isolation and vent; at least %d are needed: hold longer, or take a faster gauge.", n, fewest)
}

// report turns the solved fit into the result.
func (f *fitter) report(res *Result, used hold.Span) {
	d, p := f.d, f.post.mean
	n := nAll
	rate := p[pRate]
	res.Used, res.Readings = used, len(d.samples)
	res.Dof = f.noise.dof
	f.m.curve(f.best(), f.delta, nil)
	res.DeltaStart, res.DeltaEnd = d.atIsolation()-p[pZero], f.delta[len(f.delta)-1]
	zeroU := math.Sqrt(f.post.cov[pZero*n+pZero])
	res.Zero = normal(d.hold.RestLevel+d.hold.Sign.Float()*p[pZero]/d.span, zeroU/d.span, math.Inf(1))
	share := normal(p[pShare], math.Sqrt(f.post.cov[pShare*n+pShare]), math.Inf(1))
	share.Low, share.High = max(share.Low, 0), min(share.High, 1)
	res.InertialShare = &share

	lines := f.budget(rate)
	var total float64
	for _, l := range lines {
		total += l.U * l.U
	}
	total = math.Sqrt(total)
	pressureRate := normal(rate, total, f.dof(lines, total))
	res.PressureRate = &pressureRate
	if rate > 2*total {
		tc := f.k.at / rate
		res.TimeConstant = ptr(normal(tc, tc*total/rate, math.Inf(1)))
	}
	if f.k.volume.Told() {
		lines = f.leakRate(res, rate, lines)
	}
	finish(res, lines)
	f.doubts(res)
}

// leakRate turns pressure rate into throughput: times the volume, less the rig's own.
func (f *fitter) leakRate(res *Result, rate float64, lines []Contribution) []Contribution {
	v := f.k.volume
	q := rate*v.Value - f.k.rig.Value
	for i := range lines {
		lines[i].U *= v.Value
	}
	lines = append(lines, Contribution{Source: "volume", U: math.Abs(rate) * v.U})
	if f.k.rig.U > 0 {
		lines = append(lines, Contribution{Source: "rig", U: f.k.rig.U})
	}
	var total float64
	for _, l := range lines {
		total += l.U * l.U
	}
	total = math.Sqrt(total)
	dof := f.dof(lines, total)
	res.Dof = dof
	e := normal(q, total, dof)
	res.LeakRate = &e
	// At 0 °C and 101.325 kPa; the gas is at the told temperature.
	t := f.k.temp
	value := SCCM(q, t.Value)
	res.SCCM = ptr(normal(value, math.Hypot(SCCM(total, t.Value), value*t.U/t.Value), dof))
	return lines
}

// SCCM returns a throughput in Pa·m³/s as cm³/min at 0 °C and 101.325 kPa, for gas
// of a temperature in K.
func SCCM(throughput, temperature float64) float64 {
	return throughput / (sccmThroughput * temperature / 273.15)
}

// sccmThroughput is 1 cm³/min of air at 0 °C and 101.325 kPa, in Pa·m³/s at 0 °C.
const sccmThroughput = 1e-6 / 60 * 101325

// budget splits the standard uncertainty of the pressure rate by source, in Pa/s.
// The fit's own part is split by asking what would remain if its nuisances were
// known, one after the other.
func (f *fitter) budget(rate float64) []Contribution {
	g := f.post
	var lines []Contribution
	left := g.without(pRate)
	var known []int
	take := func(source string, params ...int) {
		known = append(known, params...)
		next := g.without(pRate, known...)
		lines = append(lines, Contribution{Source: source, U: math.Sqrt(math.Max(left-next, 0))})
		left = next
	}
	creep := make([]int, nCreep)
	for j := range creep {
		creep[j] = pCreep + j
	}
	take("creep", creep...)
	take("heat", pBore, pTaper, pNarrow)
	take("law", pShare)
	take("temperature drift", pWarm)
	take("zero", pZero, pDrift)
	if f.knocked > 0 {
		steps := min(f.knocked, left)
		lines = append(lines, Contribution{Source: "knock", U: math.Sqrt(steps)})
		left -= steps
	}
	lines = append(lines, Contribution{Source: "noise", U: math.Sqrt(left)})
	if f.k.spanU > 0 {
		lines = append(lines, Contribution{Source: "span", U: math.Abs(rate) * f.k.spanU * math.Abs(1-f.exponent())})
	}
	return lines
}

// exponent is d ln q/d ln Δp at the stated Δp: a wrong span scales Δ and its fall
// alike, so that a laminar leak (1) does not see it and a hole (½) sees half of it.
func (f *fitter) exponent() float64 {
	law := f.m.law
	law.At = f.k.at
	law.Inertial = math.Min(math.Max(f.post.mean[pShare], 0), 1)
	_, slope, _ := law.Derivatives(law.At)
	return slope * law.At
}

// dof are the effective degrees of freedom of the whole (Welch–Satterthwaite,
// JCGM 100 G.4.1): only the noise is estimated from few values.
func (f *fitter) dof(lines []Contribution, total float64) float64 {
	for _, l := range lines {
		if l.Source == "noise" && l.U > 0 {
			return f.noise.dof * math.Pow(total/l.U, 4)
		}
	}
	return math.Inf(1)
}

// finish fills in relative sizes and puts the largest first.
func finish(res *Result, lines []Contribution) {
	of := res.PressureRate.Value
	if res.LeakRate != nil {
		of = res.LeakRate.Value
	}
	for i := range lines {
		if of != 0 {
			lines[i].URelative = math.Abs(lines[i].U / of)
		}
	}
	slices.SortStableFunc(lines, func(a, b Contribution) int { return cmp.Compare(b.U, a.U) })
	res.Budget = lines
}

// doubts adds what a reader must know beside the figure.
func (f *fitter) doubts(res *Result) {
	res.Notes = append(res.Notes, f.k.notes...)
	if f.rebored && f.k.boreTold {
		res.Notes = append(res.Notes, f.boreNote())
	}
	if n := f.d.lone; n > 0 {
		res.Notes = append(res.Notes, fmt.Sprintf("%d of the readings stood far apart from both neighbours and do not count: look at cable and connectors.", n))
	}
	at, hi, lo := f.k.at, res.DeltaStart, res.DeltaEnd
	if at > 1.15*hi || at < lo/1.15 {
		res.Notes = append(res.Notes, fmt.Sprintf(
			"The stated %.2f kPa lies outside what was held (%.2f to %.2f kPa): the leakage rate is an extrapolation.", at/1e3, hi/1e3, lo/1e3))
	}
}

// best are the parameters that the curve is drawn with.
func (f *fitter) best() []float64 {
	if len(f.d.without) == 0 {
		return f.sol.p
	}
	return f.raw.mean // what steps after knocks moved
}

// normal is a value with its 95 % interval, by Student's t.
func normal(v, u, dof float64) Estimate {
	k := 1.959963984540054
	if dof < 1e4 {
		k = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: math.Max(dof, 1)}.Quantile(0.975)
	}
	return Estimate{Value: v, U: u, Low: v - k*u, High: v + k*u}
}

func ptr[T any](v T) *T { return &v }

// ahead is how far the drawn curve runs on beyond the last reading, as a share of
// the stretch used: to where the hold is heading.
const ahead = 0.5

// curvePoints samples the fitted curve, zero included, as the gauge would show it.
func (f *fitter) curvePoints() []Point {
	const points, young = 64, 0.2
	d, p := f.d, f.best()
	length := d.end - d.start
	m, times := newModel(f.m.law, f.m.heat, d.history, d.start, length*(1+ahead), f.guess())
	delta, deriv := make([]float64, m.nodes), make([]float64, m.nodes*nDecay)
	if !m.curve(p, delta, deriv) {
		return nil
	}
	var out []Point
	sign := d.hold.Sign.Float() / d.span // back to what the gauge shows
	for i := 0; i < len(times); i++ {
		t := times[i] + d.start
		// The younger the hold, the faster its warmth fades: there the points lie closer.
		step := min(length*(1+ahead)/points, young*t)
		if n := len(out); n > 0 && i < len(times)-1 && t+d.hold.Isolation-out[n-1].T < step {
			continue
		}
		var g [nAll]float64
		copy(g[:], deriv[i*nDecay:(i+1)*nDecay])
		g[pZero], g[pDrift] = 1, t
		v := delta[i] + p[pZero] + p[pDrift]*t
		out = append(out, Point{T: t + d.hold.Isolation, Pressure: d.hold.RestLevel + sign*v, U: math.Sqrt(f.raw.along(g[:])) / d.span})
	}
	return out
}
