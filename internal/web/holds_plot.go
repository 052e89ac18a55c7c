package web

import (
	"cmp"
	"html/template"
	"math"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/plot"
	"boretight/internal/trial"
)

// beforeDraw is how much of the rest before a draw is shown, in s.
const beforeDraw = 2

// drawn writes a plot for a page as wide as a desk's screen, as a tablet and as a telephone,
// so that its letters are as large on each. The style sheet shows one of them.
func drawn(id string, d plot.Drawing, wide, narrow float64) template.HTML {
	var b strings.Builder
	for _, size := range []struct {
		class string
		plot.Size
	}{{"broad", plot.Size{Width: 1200, Height: wide}}, {"wide", plot.Size{Width: 760, Height: wide}}, {"narrow", plot.Size{Width: 358, Height: narrow}}} {
		svg, err := plot.SVG{ID: id + "-" + size.class}.Write(d, size.Size)
		if err != nil {
			return "" // only a size that is not positive is refused
		}
		// In a page, unlike in a file of its own, an svg element needs no namespace.
		b.WriteString(`<div class="drawn ` + size.class + `">`)
		b.WriteString(strings.Replace(string(svg), ` xmlns="http://www.w3.org/2000/svg"`, "", 1))
		b.WriteString("</div>")
	}
	return template.HTML(b.String()) // the writer escapes all text that it is given
}

// redraw draws a hold from its stored readings, with the curve of the fit made again and,
// below, what the curve leaves of them.
func (u shown) redraw(whole WholeHold) template.HTML {
	h := plot.Hold{Title: "Trace of the hold", Suction: suction(whole.HoldData), Unit: u.pressureUnit()}
	zero := 0.0
	if whole.Zero != nil {
		zero = whole.Zero.Value
	}
	curve := whole.Curve
	if again := whole.Repeat; again != nil && again.Hold != nil {
		h.Isolation = again.Hold.Isolation
		from := again.Hold.Readings[again.Hold.Draw].Seconds() - beforeDraw
		if !again.Hold.Isolated() {
			h.Isolation = again.Hold.Readings[again.Hold.Draw].Seconds()
		}
		if whole.Zero == nil {
			zero = again.Hold.RestLevel
		}
		for _, r := range again.Hold.Readings {
			if t := r.Seconds(); t >= from {
				h.Readings = append(h.Readings, plot.Reading{Seconds: t, Pascals: r.Pressure - zero})
			}
		}
		curve = again.Fit.Curve
		h.Wedge = against0(again.Wedge, zero)
		for _, r := range again.Residuals {
			h.Residuals = append(h.Residuals, plot.Reading{Seconds: r.T, Pascals: r.Pa})
		}
	} else {
		h.Isolation, h.Readings = sampled(whole.HoldData)
	}
	if len(h.Readings) == 0 {
		return ""
	}
	for _, p := range curve {
		h.Curve = append(h.Curve, plot.Fitted{Seconds: p.T, Pascals: p.Pressure - zero, U: p.U})
	}
	if after, cut := whole.CutShort(); cut {
		h.Counted = whole.Hold.Start + after
	}
	if d := whole.Decision; d != nil {
		h.Limit = "limit " + u.limit(d, whole.On.Ambient)
	}
	if len(h.Residuals) == 0 {
		return drawn("hold", h, 400, 280)
	}
	return drawn("hold", h, 540, 420)
}

func against0(points []decay.Point, zero float64) []plot.Reading {
	all := make([]plot.Reading, len(points))
	for i, p := range points {
		all[i] = plot.Reading{Seconds: p.T, Pascals: p.Pressure - zero}
	}
	return all
}

// sampled is a hold's thinned trace, for when the readings themselves are not at hand.
func sampled(hold bench.HoldData) (isolation float64, readings []plot.Reading) {
	if hold.Hold != nil {
		isolation = hold.Hold.Start
	} else if len(hold.Trace) > 0 {
		isolation = hold.Trace[0].T
	}
	for _, s := range hold.Trace {
		readings = append(readings, plot.Reading{Seconds: s.T, Pascals: s.Pressure})
	}
	return isolation, readings
}

// verdictInk is the ink and shape of a verdict in a plot.
func verdictInk(v trial.Verdict) plot.Ink {
	switch v {
	case trial.Pass:
		return plot.Passed
	case trial.Fail:
		return plot.Failed
	case trial.Inconclusive:
		return plot.Open
	}
	return plot.Main
}

// overlay draws holds over one another, each from the moment at which its valve was shut.
func (u shown) overlay(id, title string, sets ...holdSet) template.HTML {
	chart := plot.Chart{
		Title: title,
		X:     plot.Axis{Name: "time since the valve was shut", Unit: "s"},
		Y:     plot.Axis{Name: "Δp", Unit: u.pressureUnit().Name, Zero: true},
		Empty: "no readings",
	}
	for _, set := range sets {
		for i, hold := range set.holds {
			curve := plot.Curve{Points: u.shutAt0(hold), Ink: set.ink, Width: 2, Dash: set.dash, Gap: 0.5}
			if i == 0 {
				curve.Name = set.name
			}
			if len(curve.Points) > 0 {
				chart.Series = append(chart.Series, curve)
			}
		}
		chart.Description += counting(len(set.holds), "hold") + " " + set.name + ". "
	}
	if len(chart.Series) == 0 {
		return ""
	}
	return drawn(id, chart, 380, 300)
}

// holdSet is holds drawn alike.
type holdSet struct {
	name  string
	ink   plot.Ink
	dash  []float64
	holds []bench.HoldData
}

// shutAt0 is Δp of a hold against the time since its valve was shut, up to when it was
// opened, in the shop's unit.
func (u shown) shutAt0(hold bench.HoldData) []plot.Point {
	if hold.Hold == nil {
		return nil
	}
	sign, end := 1.0, cmp.Or(hold.Hold.Held, hold.Hold.End-hold.Hold.Start)
	if suction(hold) {
		sign = -1
	}
	var points []plot.Point
	for _, s := range hold.Trace {
		if t := s.T - hold.Hold.Start; t >= -beforeDraw && t <= end {
			points = append(points, plot.Point{X: t, Y: sign * s.Pressure / u.pressureUnit().SI})
		}
	}
	return points
}

// overlaid is the holds of a trial that count, for a comparison.
func (u shown) overlaid(whole WholeTrial) []plot.Traced {
	var all []plot.Traced
	counted, _ := apart(whole)
	for _, hold := range counted {
		if points := u.shutAt0(hold); len(points) > 0 {
			all = append(all, plot.Traced{Points: points})
		}
	}
	return all
}

// edge is Δp of a joint just within the limit that a hold was judged by; empty without one.
func edge(again *bench.Repeat) []plot.Point {
	if again == nil {
		return nil
	}
	var points []plot.Point
	for _, p := range again.Wedge {
		points = append(points, plot.Point{X: p.T - again.Hold.Isolation, Y: math.Abs(p.Pressure - again.Hold.RestLevel)})
	}
	return points
}
