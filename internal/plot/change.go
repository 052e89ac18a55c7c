package plot

import "fmt"

// Outcome is a leakage rate with its interval, in the unit shown.
type Outcome struct {
	Name             string // "as found"
	Value, Low, High float64
	Written          string // value and uncertainty for people: "12.4 ± 0.6"
	// Verdict chooses ink and shape: Passed, Failed or Open; else there was none.
	Verdict Ink
}

// Change is as found beside as left: intervals on one scale, with the limit.
type Change struct {
	Title    string
	Outcomes []Outcome // from the top
	// Limit in the same unit; not above 0: none.
	Limit float64
	Unit  string
}

var _ Drawing = Change{}

// Words implements [Drawing].
func (ch Change) Words() (title, description string) {
	title = orElse(ch.Title, "As found and as left")
	for _, o := range ch.Outcomes {
		name := clean(o.Name)
		if !finite(o.Value) {
			description += name + ": no leakage rate. "
			continue
		}
		description += fmt.Sprintf("%s: %s %s, %s. ", name, orElse(clean(o.Written), number(o.Value, 2)), clean(ch.Unit), o.word())
	}
	if ch.limited() {
		return title, description + fmt.Sprintf("Limit %.4g %s.", ch.Limit, clean(ch.Unit))
	}
	if description == "" {
		return title, "No results."
	}
	return title, description + "No limit."
}

// word is the verdict in a word.
func (o Outcome) word() string {
	switch o.Verdict {
	case Passed:
		return "pass"
	case Failed:
		return "fail"
	case Open:
		return "inconclusive"
	}
	return "no verdict"
}

func (o Outcome) shape() (Shape, Ink) {
	switch o.Verdict {
	case Passed:
		return Disc, Passed
	case Failed:
		return Triangle, Failed
	case Open:
		return Diamond, Open
	}
	return Square, Main
}

func (ch Change) limited() bool { return ch.Limit > 0 && finite(ch.Limit) }

// Draw implements [Drawing].
func (ch Change) Draw(c Canvas, size Size) {
	x := nothing().with(0)
	var names, figures []string
	found := false
	for _, o := range ch.Outcomes {
		names = append(names, clean(o.Name))
		if !finite(o.Value) {
			figures = append(figures, "no leakage rate")
			continue
		}
		found = true
		x = x.with(o.Value, o.Low, o.High)
		figures = append(figures, orElse(clean(o.Written), number(o.Value, 2)))
	}
	if ch.limited() {
		x = x.with(1.1 * ch.Limit)
	}
	r := lay(c, size, x, names, figures)
	ch.drawLimit(r)
	for i, o := range ch.Outcomes {
		if finite(o.Value) {
			r.drawOutcome(o, r.middle(i))
		}
	}
	r.write()
	r.drawHorizontal(Axis{Name: "leakage rate", Unit: ch.Unit})
	if !found {
		r.say("no results")
	}
}

// drawLimit shades what is within the limit and says what the line is.
func (ch Change) drawLimit(r rows) {
	if !ch.limited() {
		return
	}
	at := r.x.px(ch.Limit)
	top := max(letters+6, r.area.Top-letters)
	r.Path(Rect{r.x.px(max(0, r.x.low)), top, at, r.area.Bottom}.box(), Style{Fill: Wedge})
	r.Path(rule(at, top, at, r.area.Bottom), Style{Stroke: Passed, Width: 2})
	text := fmt.Sprintf("limit %.4g %s", ch.Limit, clean(ch.Unit))
	half := TextWidth(text, letters, true) / 2
	r.Text(Point{min(max(at, half), max(half, r.size.Width-half)), top - 5}, text,
		TextStyle{Ink: Passed, Size: letters, Anchor: Middle, Bold: true})
}

// drawOutcome draws an interval with its value.
func (r rows) drawOutcome(o Outcome, y float64) {
	const arm = 8.0 // half the length of the strokes that end an interval
	if finite(o.Low) && finite(o.High) && o.Low < o.High {
		low, high := r.x.px(o.Low), r.x.px(o.High)
		p := rule(low, y, high, y)
		p.MoveTo(low, y-arm)
		p.LineTo(low, y+arm)
		p.MoveTo(high, y-arm)
		p.LineTo(high, y+arm)
		r.Path(p, Style{Stroke: Main, Width: 2})
	}
	shape, ink := o.shape()
	shape.draw(r, Point{r.x.px(o.Value), y}, 5.5, ink)
}
