package decay

import (
	"math"
	"slices"

	"boretight/internal/hold"
)

// bin is the mean of neighbouring readings: binning keeps the cost of a fit
// independent of the gauge's rate and loses nothing, since bins are short
// against everything that changes within them.
type bin struct {
	t     float64 // s since isolation
	y     float64 // Δ as read, Pa: the zero still in it
	n     float64 // readings in it
	extra float64 // variance in Pa² that averaging does not lower
}

// sample is one usable reading of the held stretch.
type sample struct {
	t, y float64 // s since isolation; Δ as read, Pa
}

// data is a hold made ready for the fit. Times count from isolation.
type data struct {
	hold    *hold.Hold
	span    float64 // what a difference of two readings is multiplied by
	without []gap   // what of the held stretch does not count
	lone    int     // readings that stood apart from both neighbours, and do not count
	start   float64 // the fit begins here, s
	end     float64 // last reading used, s
	history []knot  // from the rest to start; its times count from start
	samples []sample
	held    []bin
	before  []bin // the rest before
	after   []bin // the rest after
	quantum float64
}

// guardSeconds is left out after isolation: the finder knows the moment to about
// 50 ms, and a sensor's own lag rounds the corner.
const guardSeconds = 0.08

// at converts reading i to time since isolation and Δ as read.
func (d *data) at(i int) sample {
	r := d.hold.Readings[i]
	return sample{r.Seconds() - d.hold.Isolation, d.span * d.hold.Delta(i)}
}

// newData takes the readings of a stretch, less the guard.
func newData(h *hold.Hold, used stretch, k known) *data {
	d := &data{hold: h, span: k.span, quantum: k.quantum, without: used.without}
	d.start = max(guardSeconds, 2*h.Interval)
	for i := used.span.From; i < used.span.To; i++ {
		if s := d.at(i); s.t >= d.start && h.Usable(i) && used.has(s.t) {
			d.samples = append(d.samples, s)
		}
	}
	d.dropLone(h.Noise)
	if len(d.samples) == 0 {
		return d
	}
	d.end = d.samples[len(d.samples)-1].t
	d.history = d.draw(used.span.From)
	return d
}

// dropLone leaves out single readings that no pressure has made: far from both
// neighbours, on the same side, while these agree. noise is that of one reading in Pa.
func (d *data) dropLone(noise float64) {
	const least, clear = 30, 12 // Pa, and so many times the noise
	far := max(least, clear*noise)
	s := d.samples
	kept := s[:0]
	for i, x := range s {
		if i > 0 && i+1 < len(s) {
			a, b := x.y-s[i-1].y, x.y-s[i+1].y
			if a*b > 0 && min(math.Abs(a), math.Abs(b)) > far+2*math.Abs(a-b) {
				d.lone++
				continue
			}
		}
		kept = append(kept, x)
	}
	d.samples = kept
}

// atIsolation is Δ as read about the moment of isolation: the mean of the readings
// within one interval of it, or else the first that the fit used.
func (d *data) atIsolation() float64 {
	var sum, n float64
	for i := max(d.hold.Held.From-2, 0); i < min(d.hold.Held.From+2, d.hold.Held.To); i++ {
		if s := d.at(i); d.hold.Usable(i) && math.Abs(s.t) <= d.hold.Interval {
			sum += s.y
			n++
		}
	}
	if n == 0 {
		return d.samples[0].y
	}
	return sum / n
}

// draw returns the knots from the rest before the draw to the start of the fit.
func (d *data) draw(isolated int) []knot {
	h := d.hold
	from := h.Before.To
	if from >= isolated {
		return []knot{{0, d.samples[0].y}}
	}
	begin := d.at(from).t
	ks := []knot{{begin - d.start, 0}}
	var n, st, sy, first float64
	flush := func() {
		if n > 0 {
			ks = append(ks, knot{st/n - d.start, sy / n})
		}
		n, st, sy = 0, 0, 0
	}
	for i := from; i < len(h.Readings); i++ {
		s := d.at(i)
		if s.t >= d.start {
			break
		}
		if !h.Usable(i) {
			continue
		}
		if n > 0 && s.t-first >= knotPitch(d.start-first) {
			flush()
		}
		if n == 0 {
			first = s.t
		}
		n++
		st += s.t
		sy += s.y
	}
	flush()
	last := ks[len(ks)-1]
	if last.t < 0 {
		ks = append(ks, knot{0, d.samples[0].y})
	}
	return ks
}

// knotPitch is how far apart in s the knots of the draw are, so long before the start:
// what is longer ago is remembered less sharply. Pitches go by twos, so that most knots
// are as far apart as the ones before.
func knotPitch(before float64) float64 {
	const finest, share = 0.004, 0.03
	return finest * math.Exp2(math.Floor(math.Log2(max(1, before*share/finest))))
}

// split bins the held readings: bins are short against the age of the hold, its
// length and its time constant tau, so that the curve is straight within each.
func (d *data) split(tau float64) {
	d.held = d.held[:0]
	var b bin
	flush := func() {
		if b.n > 0 {
			d.held = append(d.held, bin{t: b.t / b.n, y: b.y / b.n, n: b.n})
		}
		b = bin{}
	}
	var first, width float64
	for _, s := range d.samples {
		if b.n > 0 && s.t-first >= width {
			flush()
		}
		if b.n == 0 {
			first = s.t
			width = min(0.04*s.t, 0.06*tau, 0.012*d.end)
		}
		b.n++
		b.t += s.t
		b.y += s.y
	}
	flush()
}

// ventLeft is the share of the vented difference that may still be in the bore when
// a hand has let go of the vent (common practice, no source).
const ventLeft = 3e-4

// rests bins what is known of the zero. tau1 is the slowest time constant of heat
// in the closed bore, level the Δ that the vent let out, sigma the noise of one
// reading. A rest after the vent counts for less until the air is back at the
// wall's temperature (a bore shut again would not be at zero), and for nothing
// when it lies further from the rest before than a zero can drift: the vent was
// shut too early then.
func (d *data) rests(tau1, level, sigma float64) {
	const bins = 4
	d.before = d.rest(d.hold.Before, bins, nil)
	d.after = nil
	if d.hold.After.Len() == 0 {
		return
	}
	vent := d.at(d.hold.After.From).t
	d.after = d.rest(d.hold.After, bins, func(t float64) float64 {
		u := 0.17 * level * math.Exp(-(t-vent)/tau1)
		return u*u + ventLeft*ventLeft*level*level
	})
	if len(d.before) == 0 || len(d.after) == 0 {
		return
	}
	t0, y0 := middle(d.before)
	t1, y1 := middle(d.after)
	if math.Abs(y1-y0) > 2+3*math.Hypot(driftU*(t1-t0), ventLeft*level)+sigma {
		d.after = nil
	}
}

// middle returns the mean time and value of bins.
func middle(bins []bin) (t, y float64) {
	var n float64
	for _, b := range bins {
		t += b.n * b.t
		y += b.n * b.y
		n += b.n
	}
	return t / n, y / n
}

func (d *data) rest(sp hold.Span, count int, extra func(t float64) float64) []bin {
	var out []bin
	per := (sp.Len() + count - 1) / count
	for from := sp.From; from < sp.To; from += per {
		var b bin
		for i := from; i < min(from+per, sp.To); i++ {
			if d.hold.Usable(i) {
				s := d.at(i)
				b.n++
				b.t += s.t
				b.y += s.y
			}
		}
		if b.n > 0 {
			b.t, b.y = b.t/b.n, b.y/b.n
			if extra != nil {
				b.extra = extra(b.t)
			}
			out = append(out, b)
		}
	}
	for i := range out {
		out[i].extra *= float64(len(out)) // common to all bins of a rest
	}
	return out
}

// quantum returns the step in Pa on which the readings lie, 0 when none shows.
func quantum(h *hold.Hold) float64 {
	v := make([]float64, 0, len(h.Readings))
	for i, r := range h.Readings {
		if h.Usable(i) {
			v = append(v, r.Pressure)
		}
	}
	slices.Sort(v)
	v = slices.Compact(v)
	if len(v) < 3 {
		return 0
	}
	step := math.Inf(1)
	for i := 1; i < len(v); i++ {
		if gap := v[i] - v[i-1]; gap > 1e-6 {
			step = min(step, gap)
		}
	}
	// Readings off the grid show that the smallest gap was mere chance.
	off := 0
	for i := 1; i < len(v); i++ {
		steps := (v[i] - v[i-1]) / step // between neighbours: rounding would add up
		if math.Abs(steps-math.Round(steps)) > 0.05 {
			off++
		}
	}
	if off*20 > len(v) {
		return 0
	}
	return step
}

// zeroDoubt is the standard uncertainty in Pa of the mean of a rest on a sensor
// of the given quantum with white noise sigma: uniform within the step when the
// noise is too small to mix the steps, less as it grows (Widrow and Kollár,
// Quantization Noise, 2008: harmonics of the rounding error, each faded by the noise).
func zeroDoubt(quantum, sigma float64) float64 {
	if quantum == 0 {
		return 0
	}
	var v float64
	for k := 1.0; k <= 50; k++ {
		x := 2 * math.Pi * k * sigma / quantum
		v += math.Exp(-x*x) / (2 * math.Pi * math.Pi * k * k)
	}
	return quantum * math.Sqrt(v)
}
