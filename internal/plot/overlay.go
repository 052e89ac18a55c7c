package plot

import (
	"fmt"
	"slices"
)

// Traced is one hold from the moment on at which its valve was shut.
type Traced struct {
	// Points are seconds since then and Δp, in any unit; those before then are not drawn.
	Points []Point
	// Curve is the fitted curve with twice its standard uncertainty to both sides, in the same
	// unit; empty where there is none.
	Curve []Interval
}

// Overlay is a joint before and after the work: the holds of both trials over one another.
//
// All are drawn as the share of Δp that is left of what it was when the valve was shut. A
// repairer never draws twice to the same difference, so that absolute traces would show how
// far he drew before they showed what leaks; as shares all begin in one point, holds of one
// trial lie on one another if they repeat, and one wedge holds for all of them.
type Overlay struct {
	Title       string
	Found, Left []Traced
	// Wedge is Δp of a joint just within the limit, against the same time, in any unit; its
	// first point is the moment at which the valve was shut. Empty: no limit.
	Wedge []Point
	// Limit is said at the wedge: "limit 1.5 sccm".
	Limit string
}

var _ Drawing = Overlay{}

// Words implements [Drawing].
func (o Overlay) Words() (title, description string) {
	title = orElse(o.Title, "As found and as left, held one over the other")
	for _, set := range o.sets() {
		if len(set.holds) == 0 {
			continue
		}
		description += fmt.Sprintf("%s: %s. ", set.name, set.words())
	}
	if description == "" {
		return title, "No readings."
	}
	description = "Share of Δp that is left, against the time since the valve was shut. " + description
	edge := o.edge()
	if len(edge) == 0 {
		return title, description + "No limit."
	}
	end := edge[len(edge)-1]
	return title, description + fmt.Sprintf("A joint within the limit (%s) would have more than %s %% left after %s s.",
		orElse(clean(o.Limit), "as set"), number(end.Y, 0), number(end.X, 0))
}

// overlaid is the holds of one side, as shares in percent, and how they are drawn.
type overlaid struct {
	name  string
	ink   Ink
	dash  []float64
	holds []Traced
}

// sets are the sides that have something to draw; what is as left lies above.
func (o Overlay) sets() []overlaid {
	return []overlaid{
		{"as found", Soft, []float64{7, 5}, shares(o.Found)},
		{"as left", Main, nil, shares(o.Left)},
	}
}

// words say where the holds of a side end.
func (o overlaid) words() string {
	after, left := nothing(), nothing()
	for _, h := range o.holds {
		end := h.end()
		after, left = after.with(end.X), left.with(end.Y)
	}
	holds := "1 hold"
	if n := len(o.holds); n > 1 {
		holds = fmt.Sprintf("%d holds", n)
	}
	share := number(left.low, 0)
	if high := number(left.high, 0); high != share {
		share += " to " + high
	}
	return fmt.Sprintf("%s, %s %% left after %s s", holds, share, number(after.high, 0))
}

// end is the last point of the readings, by the fit where there is one: one reading has noise.
func (t Traced) end() Point {
	last := t.Points[len(t.Points)-1]
	for _, c := range slices.Backward(t.Curve) {
		if c.X <= last.X {
			return Point{last.X, (c.Low + c.High) / 2}
		}
	}
	return last
}

// shares carries holds to percent of their Δp at isolation, and leaves out those that have none.
func shares(holds []Traced) []Traced {
	var all []Traced
	for _, h := range holds {
		from := slices.IndexFunc(h.Points, func(p Point) bool { return p.finite() && p.X >= 0 })
		if from < 0 {
			continue
		}
		// The first reading, not the fitted curve: that begins a little later, and in the first
		// tenth of a second the warmth takes some percent away.
		begin := h.Points[from].Y
		if !(begin > 0) {
			continue
		}
		var share Traced
		for _, p := range h.Points[from:] {
			share.Points = append(share.Points, Point{p.X, 100 * p.Y / begin})
		}
		for _, c := range h.Curve {
			if c.X >= 0 {
				share.Curve = append(share.Curve, Interval{c.X, 100 * c.Low / begin, 100 * c.High / begin})
			}
		}
		all = append(all, share)
	}
	return all
}

// Draw implements [Drawing].
func (o Overlay) Draw(c Canvas, size Size) { o.chart().Draw(c, size) }

func (o Overlay) chart() Chart {
	chart := Chart{
		X:     Axis{Name: "time since the valve was shut", Unit: "s"},
		Y:     Axis{Name: "Δp left since the valve was shut", Unit: "%", Low: 0, High: 104},
		Empty: "no readings",
	}
	sets := o.sets()
	far := nothing()
	for _, set := range sets {
		for _, h := range set.holds {
			far = far.with(h.Points[len(h.Points)-1].X)
		}
	}
	if far.empty() {
		return chart
	}
	chart.X.Low, chart.X.High = 0, 1.02*far.high
	edge := o.edge()
	if len(edge) > 0 {
		chart.Series = append(chart.Series, Area{Points: edge, Level: 100, Ink: Wedge}, Curve{Points: edge, Ink: Passed, Width: 2})
	}
	for _, set := range sets {
		for _, h := range set.holds {
			chart.Series = append(chart.Series, Belt{Intervals: h.Curve, Ink: Band},
				Curve{Points: h.Points, Ink: set.ink, Width: 1, Gap: missing}, set.fit(h))
		}
	}
	for _, set := range sets {
		if len(set.holds) > 0 {
			chart.Series = append(chart.Series, beside{set.upper(), set.name, set.ink, true})
		}
	}
	if len(edge) > 0 && o.Limit != "" {
		chart.Series = append(chart.Series, beside{Curve{Points: edge}.at(0.6 * far.high), o.Limit, Passed, false})
	}
	return chart
}

// edge is the edge of the wedge in percent; empty without a limit, or where it has no Δp of
// which to take a share.
func (o Overlay) edge() []Point {
	edge := shares([]Traced{{Points: o.Wedge}})
	if len(edge) == 0 {
		return nil
	}
	return edge[0].Points
}

// fit is the fitted curve of a hold.
func (o overlaid) fit(h Traced) Curve {
	middle := make([]Point, len(h.Curve))
	for i, c := range h.Curve {
		middle[i] = Point{c.X, (c.Low + c.High) / 2}
	}
	return Curve{Points: middle, Ink: o.ink, Width: 2, Dash: o.dash}
}

// upper is where the name of a side stands: at the highest of its traces, in the middle of
// the longest.
func (o overlaid) upper() Point {
	long := nothing()
	for _, h := range o.holds {
		long = long.with(h.end().X)
	}
	highest := Point{}
	for _, h := range o.holds {
		if at := (Curve{Points: h.Points}).at(0.55 * long.high); at.Y > highest.Y {
			highest = at
		}
	}
	return highest
}

// beside is a few words at a falling curve, where it is not: above it to the right, or below
// it to the left.
type beside struct {
	At    Point
	Text  string
	Ink   Ink
	Above bool
}

func (b beside) reach(x, y span) (span, span) { return x, y }
func (b beside) entry() entry                 { return entry{} }

func (b beside) draw(f *frame) {
	at := f.place(b.At)
	if !at.finite() {
		return
	}
	style := TextStyle{Ink: b.Ink, Size: letters, Bold: true, Halo: true}
	width := TextWidth(b.Text, letters, true)
	if b.Above && at.Y-7-letters > f.area.Top-8 {
		f.Text(Point{min(at.X+4, f.area.Right-width), at.Y - 7}, b.Text, style)
		return
	}
	style.Anchor = End
	f.Text(Point{max(at.X-4, f.area.Left+width+4), min(at.Y+1.3*letters, f.area.Bottom-5)}, b.Text, style)
}

// at is the point of a curve nearest before x, or its first.
func (c Curve) at(x float64) Point {
	best := c.Points[0]
	for _, p := range c.Points {
		if p.finite() && p.X <= x {
			best = p
		}
	}
	return best
}
