package plot

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// Seen is the result of one trial in the course of a joint's visits. Its name is not drawn:
// as found and as left have shapes.
type Seen struct {
	Outcome
	// At is when it was held, in the zone that dates are shown in.
	At time.Time
	// Visit is the ticket's number; trials without one belong to the visit of their day.
	Visit string
	Left  bool // as left; else as found
}

// Trend is what a joint leaked from visit to visit. Each visit has a column, as wide as any
// other: on an axis of time, the two trials of one day would be one point and the years
// between two visits all the rest. How long they lie apart is written between them.
type Trend struct {
	Title string
	Seen  []Seen // in any order
	// Limit in the unit; not above 0: none.
	Limit float64
	Unit  string
}

var _ Drawing = Trend{}

// factor is the range of values from which on the axis is logarithmic.
const factor = 20.0

// visit is a column.
type visit struct {
	name string
	seen []Seen
}

func (v visit) day() string { return v.seen[0].At.Format("2 Jan 2006") }

// dated is the day of a visit as there is room for it.
func (v visit) dated(room float64) string {
	for _, layout := range []string{"2 Jan 2006", "Jan 2006"} {
		if text := v.seen[0].At.Format(layout); TextWidth(text, letters, false)+10 <= room {
			return text
		}
	}
	return v.seen[0].At.Format("2006")
}

// visits puts what was seen into columns, the oldest first.
func (t Trend) visits() []visit {
	seen := slices.Clone(t.Seen)
	slices.SortStableFunc(seen, func(a, b Seen) int { return a.At.Compare(b.At) })
	var all []visit
	for _, s := range seen {
		name := cmp.Or(s.Visit, s.At.Format("2006-01-02"))
		i := slices.IndexFunc(all, func(v visit) bool { return v.name == name })
		if i < 0 {
			i = len(all)
			all = append(all, visit{name: name})
		}
		all[i].seen = append(all[i].seen, s)
	}
	for _, v := range all { // what is as found was before what is as left
		slices.SortStableFunc(v.seen, func(a, b Seen) int {
			switch {
			case !a.Left && b.Left:
				return -1
			case a.Left && !b.Left:
				return 1
			}
			return 0
		})
	}
	return all
}

// Words implements [Drawing].
func (t Trend) Words() (title, description string) {
	title = orElse(t.Title, "What the joint leaked from visit to visit")
	visits := t.visits()
	if len(visits) == 0 {
		return title, "No trials."
	}
	var parts []string
	for _, v := range visits {
		var results []string
		for _, s := range v.seen {
			result := "no leakage rate"
			if finite(s.Value) {
				result = fmt.Sprintf("%s %s, %s", orElse(clean(s.Written), number(s.Value, 2)), clean(t.Unit), s.word())
			}
			results = append(results, s.side()+" "+result)
		}
		parts = append(parts, v.day()+": "+strings.Join(results, "; "))
	}
	limit := "No limit."
	if t.limited() {
		limit = fmt.Sprintf("Limit %.4g %s.", t.Limit, clean(t.Unit))
	}
	return title, strings.Join(parts, ". ") + ". " + limit
}

func (s Seen) side() string {
	if s.Left {
		return "as left"
	}
	return "as found"
}

func (t Trend) limited() bool { return t.Limit > 0 && finite(t.Limit) }

// Draw implements [Drawing].
func (t Trend) Draw(c Canvas, size Size) { t.chart(size.Width).Draw(c, size) }

// chart is the trend for a width in px.
func (t Trend) chart(width float64) Chart {
	visits := t.visits()
	y := t.rates()
	chart := Chart{X: Axis{Ticks: []Tick{}}, Y: y.axis(t.Unit), Empty: "no trials"}
	columns := float64(max(1, len(visits)))
	room := (width - 60) / columns // the figures of the other axis take about so much
	chart.X.Low, chart.X.High = -0.5, columns-0.5
	if t.limited() {
		edge := []Point{{-0.5, y.of(t.Limit)}, {columns - 0.5, y.of(t.Limit)}}
		chart.Series = append(chart.Series, Area{Points: edge, Level: y.low, Ink: Wedge}, Curve{Points: edge, Ink: Passed, Width: 2})
	}
	found, left := Markers{Name: "as found", Shape: Frame, Ink: Main}, Markers{Name: "as left", Shape: Square, Ink: Main}
	var marks []Series
	var work Curve
	for i, v := range visits {
		chart.X.Ticks = append(chart.X.Ticks, Tick{float64(i), v.dated(room)})
		if i > 0 {
			chart.Series = append(chart.Series, asunder{float64(i) - 0.5, apart(last(visits[i-1]).At, v.seen[0].At), 0})
		}
		if !slices.ContainsFunc(v.seen, func(s Seen) bool { return finite(s.Value) }) {
			chart.Series = append(chart.Series, asunder{float64(i), "no rate", 1})
		}
		for j, s := range v.seen {
			if !finite(s.Value) {
				continue
			}
			at := Mark{X: float64(i) + offset(j, len(v.seen)), Y: y.of(s.Value), Low: y.of(s.Low), High: y.of(s.High)}
			work.Points = append(work.Points, Point{at.X, at.Y})
			of := found
			if s.Left {
				of = left
			}
			_, of.Ink = s.shape()
			of.Name, of.Marks = "", []Mark{at}
			marks = append(marks, of)
		}
		work.Points = append(work.Points, Point{math.NaN(), math.NaN()}) // nothing joins two visits
	}
	work.Ink, work.Width = Soft, 1
	chart.Series = append(chart.Series, work)
	chart.Series = append(chart.Series, marks...)
	if len(marks) > 0 {
		chart.Series = append(chart.Series, found, left) // for the key
	}
	if t.limited() {
		chart.Series = append(chart.Series, Caption{Point{-0.5, y.of(t.Limit)}, fmt.Sprintf("limit %.4g %s", t.Limit, clean(t.Unit)), Passed})
	}
	return chart
}

func last(v visit) Seen { return v.seen[len(v.seen)-1] }

// offset is where trial j of n of a visit stands in its column.
func offset(j, n int) float64 {
	const widest, step = 0.5, 0.25
	if n == 1 {
		return 0
	}
	all := min(widest, step*float64(n-1))
	return -all/2 + all*float64(j)/float64(n-1)
}

// apart is how long two moments lie apart, for people, who count nights.
func apart(from, to time.Time) string {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	days := int(day(to).Sub(day(from)).Hours() / 24)
	count := func(n int, what string) string {
		if n == 1 {
			return "1 " + what
		}
		return fmt.Sprintf("%d %ss", n, what)
	}
	switch {
	case days < 1:
		return "the same day"
	case days < 21:
		return count(days, "day")
	case days < 61:
		return count((days+3)/7, "week")
	case days < 2*365:
		return count(int(math.Round(float64(days)/30.44)), "month")
	}
	return count(int(math.Round(float64(days)/365.25)), "year")
}

// asunder is a few words at the foot of columns or of the space between them, so many lines
// up.
type asunder struct {
	X    float64
	Text string
	Line int
}

func (a asunder) reach(x, y span) (span, span) { return x, y }
func (a asunder) entry() entry                 { return entry{} }

// draw leaves the words out where they would reach into what stands in the columns.
func (a asunder) draw(f *frame) {
	width := TextWidth(a.Text, letters, false)
	if width > 0.75*(f.x.px(1)-f.x.px(0)) {
		return
	}
	f.Text(Point{f.x.px(a.X), f.area.Bottom - 8 - 1.4*letters*float64(a.Line)}, a.Text, TextStyle{Ink: Soft, Size: letters, Anchor: Middle, Halo: true})
}
