package plot

import "strings"

// letters is the size of what is written on plots, in px.
const letters = 13.0

// Axis says what an axis shows.
type Axis struct {
	Name string // "Δp, suction"
	Unit string // "kPa"
	// Low and High are the range shown; where Low is not below High it is that of the series.
	Low, High float64
	// Zero keeps nought in the range.
	Zero bool
	// Ticks, if there are any, stand in place of round numbers.
	Ticks []Tick
}

// Tick is a place on an axis and what stands beside it.
type Tick struct {
	At   float64
	Text string
}

// marked is an axis with its ticks chosen: power is the power of ten taken out of the texts.
type marked struct {
	ticks []Tick
	power int
}

// marks are those of a row.
func (r row) marks() marked {
	texts, power := r.labels()
	m := marked{power: power}
	for i, text := range texts {
		m.ticks = append(m.ticks, Tick{r.at(i), text})
	}
	return m
}

// title is the name with the unit, and with the power of ten taken out of the figures.
func (a Axis) title(power int) string {
	unit := powered(a.Unit, power)
	if unit == "" {
		return a.Name
	}
	if a.Name == "" {
		return unit
	}
	return a.Name + ", " + unit
}

// span is what the axis shows of series that reach as far as data.
func (a Axis) span(data span) span {
	if a.Low < a.High && finite(a.Low) && finite(a.High) {
		return span{a.Low, a.High}.usable()
	}
	if a.Zero && !data.empty() {
		data = data.with(0)
	}
	return data.usable()
}

// fixed reports whether the range was given, so that ticks must stay inside.
func (a Axis) fixed() bool { return a.Low < a.High && finite(a.Low) && finite(a.High) }

// horizontal chooses ticks for a horizontal axis: as many as have room, with their labels.
func horizontal(s scale, want int) marked {
	for ; ; want-- {
		m := bestRow(s.low, s.high, want, true).marks()
		if want <= 2 || s.fits(m.ticks) {
			return m
		}
	}
}

// fits reports whether labels centred on their ticks stay apart.
func (s scale) fits(ticks []Tick) bool {
	const apart = 10.0
	for i := range len(ticks) - 1 {
		between := s.px(ticks[i+1].At) - s.px(ticks[i].At)
		if between < (TextWidth(ticks[i].Text, letters, false)+TextWidth(ticks[i+1].Text, letters, false))/2+apart {
			return false
		}
	}
	return true
}

// drawHorizontal draws the axis below the area, with its title under it at the right.
// A label that has no room is left out; its tick stays.
func (f *frame) drawHorizontal(a Axis) {
	m := marked{ticks: a.Ticks}
	if m.ticks == nil {
		m = horizontal(f.x, max(2, int((f.area.Right-f.area.Left)/60)))
	}
	base := f.area.Bottom
	f.Path(rule(f.area.Left, base, f.area.Right, base), Style{Stroke: Main, Width: 1})
	var marks Path
	end := 0.0 // of the label before
	for _, tick := range m.ticks {
		x, text := f.x.px(tick.At), tick.Text
		marks.MoveTo(x, base)
		marks.LineTo(x, base+4)
		half := TextWidth(text, letters, false) / 2
		if x-half < end || x+half > f.size.Width {
			continue
		}
		end = x + half + 2
		f.Text(Point{x, base + 5 + letters}, text, TextStyle{Ink: Soft, Size: letters, Anchor: Middle})
	}
	f.Path(&marks, Style{Stroke: Main, Width: 1})
	title := shorten(a.title(m.power), letters, f.size.Width-4, false)
	right := max(f.area.Right, TextWidth(title, letters, false)+2)
	f.Text(Point{min(right, f.size.Width-2), base + 8 + 2.3*letters}, title, TextStyle{Ink: Soft, Size: letters, Anchor: End})
}

// belowAxis is the height that a horizontal axis takes.
const belowAxis = 12 + 2.3*letters

// drawGrid draws the lines of the vertical axis.
func (f *frame) drawGrid(ticks []Tick) {
	var p Path
	for _, tick := range ticks {
		if y := f.y.px(tick.At); y < f.area.Bottom-0.5 {
			p.MoveTo(f.area.Left, y)
			p.LineTo(f.area.Right, y)
		}
	}
	f.Path(&p, Style{Stroke: Hair, Width: 1})
}

// drawFigures writes the labels of the vertical axis.
func (f *frame) drawFigures(ticks []Tick) {
	last := f.size.Height + letters
	for _, tick := range ticks {
		y := f.y.px(tick.At) + 0.36*letters
		if last-y < 1.1*letters || y < letters*0.8 {
			continue
		}
		last = y
		f.Text(Point{f.area.Left - 7, y}, tick.Text, TextStyle{Ink: Soft, Size: letters, Anchor: End})
	}
}

// widestOf ticks in px.
func widestOf(ticks []Tick) float64 {
	var width float64
	for _, tick := range ticks {
		width = max(width, TextWidth(tick.Text, letters, false))
	}
	return width
}

// widest of texts in px.
func widest(texts []string) float64 {
	var width float64
	for _, text := range texts {
		width = max(width, TextWidth(text, letters, false))
	}
	return width
}

// orElse is text, or another where there is none.
func orElse(text, other string) string {
	if strings.TrimSpace(text) == "" {
		return other
	}
	return text
}
