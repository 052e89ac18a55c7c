package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"boretight/internal/catalog"
	"boretight/internal/plot"
	"boretight/internal/quantity"
)

// drawing is how a joint is drawn: along the page, or upright for narrow screens.
type drawing struct {
	ID      string
	Words   bool // seats, ends and a ruler are named
	Upright bool // the player's end is at the top; all is named
}

// What is drawn measures, in px of the drawing.
const (
	drawnLong   = 960.0 // a joint along the page
	drawnTall   = 640.0 // an upright one
	drawnScale  = 4200  // px a metre at most: a short joint is not blown up
	chimney     = 9.0   // a tone hole's wall above the bore; catalogs do not tell its height
	lifted      = 9.0   // a pad that stands open above its seat
	labelSize   = 13.0
	labelStep   = 17.0 // between two labels
	slopedStep  = 20.0 // of sloping ones
	labelSlope  = 50.0 // degrees
	drawnMargin = 14.0
)

// pen writes SVG. x runs along the bore and y across it, whichever way the joint lies.
type pen struct {
	strings.Builder
	upright bool
}

func (p *pen) at(x, y float64) (float64, float64) {
	if p.upright {
		return -y, x
	}
	return x, y
}

// path draws through points, closed if it is filled.
func (p *pen) path(class string, closed bool, points ...[2]float64) {
	p.WriteString(`<path class="` + class + `" d="`)
	for n, q := range points {
		x, y := p.at(q[0], q[1])
		op := "L"
		if n == 0 {
			op = "M"
		}
		fmt.Fprintf(p, "%s%.1f %.1f", op, x, y)
	}
	if closed {
		p.WriteByte('Z')
	}
	p.WriteString(`"/>`)
}

func (p *pen) box(class string, x1, y1, x2, y2 float64) {
	p.path(class, true, [2]float64{x1, y1}, [2]float64{x2, y1}, [2]float64{x2, y2}, [2]float64{x1, y2})
}

func (p *pen) line(class string, x1, y1, x2, y2 float64) {
	p.path(class, false, [2]float64{x1, y1}, [2]float64{x2, y2})
}

func (p *pen) circle(class string, x, y, r float64) {
	cx, cy := p.at(x, y)
	fmt.Fprintf(p, `<circle class="%s" cx="%.1f" cy="%.1f" r="%.1f"/>`, class, cx, cy, r)
}

// text writes at a place of the drawing itself.
func (p *pen) text(class, anchor string, x, y, turned float64, text string) {
	turn := ""
	if turned != 0 {
		turn = fmt.Sprintf(` transform="rotate(%.0f %.1f %.1f)"`, turned, x, y)
	}
	fmt.Fprintf(p, `<text class="%s" text-anchor="%s" x="%.1f" y="%.1f"%s>%s</text>`, class, anchor, x, y, turn, template.HTMLEscapeString(text))
}

// mark is a seat or a hole on the joint with its label.
type mark struct {
	x, label float64 // where it is, and where its label stands
	name     string
	soft     bool
}

// drawJoint draws a joint to scale: its bore cut lengthwise, its seats above it.
func (s *Site) drawJoint(j catalog.Joint, d drawing) template.HTML {
	long := drawnLong
	if d.Upright {
		long = drawnTall
	}
	scale := min(drawnScale, (long-2*drawnMargin)/max(float64(j.Length()), 1e-3))
	p := &pen{upright: d.Upright}
	top := drawBore(p, j, scale)
	marks := drawSeats(p, j, scale)
	drawEnds(p, j, scale)
	above := -top - chimney - lifted - 8
	var box [4]float64 // left, top, width, height
	switch {
	case d.Upright:
		spread(marks, labelStep, float64(j.Length())*scale)
		right := top + chimney + lifted + 12
		for _, m := range marks {
			p.path("leader", false, [2]float64{m.x, above + 3}, [2]float64{m.x, above - 2}, [2]float64{m.label, above - 16})
			p.text(m.class(), "start", right+18, m.label+labelSize*0.35, 0, m.name)
		}
		end := s.ruler(p, j, scale, top+10)
		box = [4]float64{-end - 46, -30, end + 46 + right + 150, float64(j.Length())*scale + 60}
	case d.Words:
		spread(marks, slopedStep, float64(j.Length())*scale)
		longest := 0.0
		for _, m := range marks {
			p.path("leader", false, [2]float64{m.x, above + 3}, [2]float64{m.x, above - 2}, [2]float64{m.label, above - 14})
			p.text(m.class(), "start", m.label+3, above-17, -labelSlope, m.name)
			longest = max(longest, plot.TextWidth(m.name, labelSize, false))
		}
		rise := longest*math.Sin(labelSlope*math.Pi/180) + 30
		reach := longest*math.Cos(labelSlope*math.Pi/180) + 10
		below := s.ruler(p, j, scale, top+14)
		wide := max(float64(j.Length())*scale+2*drawnMargin, marksEnd(marks)+reach+drawnMargin)
		box = [4]float64{-drawnMargin, above - rise, wide, rise - above + below + 24}
	default:
		box = [4]float64{-drawnMargin, above, float64(j.Length())*scale + 2*drawnMargin, top + 8 - above}
	}
	class := "joint"
	if d.Upright {
		class += " upright"
	}
	title, words := "Drawing of the "+withinSentence(titleOf(j)), s.jointWords(j)
	return template.HTML(fmt.Sprintf(
		`<svg class="%s" viewBox="%.1f %.1f %.1f %.1f" width="%.0f" height="%.0f" role="img" aria-labelledby="%s-title %s-desc"><title id="%s-title">%s</title><desc id="%s-desc">%s</desc>%s</svg>`,
		class, box[0], box[1], box[2], box[3], box[2], box[3], d.ID, d.ID, d.ID, template.HTMLEscapeString(title), d.ID, template.HTMLEscapeString(words), p.String()))
}

func (m mark) class() string {
	if m.soft {
		return "name finger"
	}
	return "name"
}

// drawBore draws the bore and returns its largest half-width.
func drawBore(p *pen, j catalog.Joint, scale float64) (top float64) {
	var upper, lower [][2]float64
	x := 0.0
	for _, piece := range j.Bore {
		for _, d := range []float64{float64(piece.From.Value), float64(piece.To.Value)} {
			half := d / 2 * scale
			top = max(top, half)
			upper, lower = append(upper, [2]float64{x, -half}), append(lower, [2]float64{x, half})
			if len(upper)%2 == 1 {
				x += float64(piece.Length.Value) * scale
			}
		}
	}
	outline := append([][2]float64{}, upper...)
	for n := len(lower) - 1; n >= 0; n-- {
		outline = append(outline, lower[n])
	}
	p.path("air", true, outline...)
	p.path("wall", false, upper...)
	p.path("wall", false, lower...)
	return top
}

// drawSeats draws tone holes with their pads, and open holes; in the order of their places.
func drawSeats(p *pen, j catalog.Joint, scale float64) []mark {
	var marks []mark
	opening := func(at, wide quantity.Length) (x, top float64) {
		x, half := float64(at)*scale, float64(wide)/2*scale
		wall := float64(j.DiameterAt(at)) / 2 * scale
		p.box("air", x-half, -wall+1.5, x+half, -wall-chimney)
		p.line("wall", x-half, -wall, x-half, -wall-chimney)
		p.line("wall", x+half, -wall, x+half, -wall-chimney)
		return x, wall + chimney
	}
	for _, h := range j.Holes {
		x, top := opening(h.At.Value, h.Diameter.Value)
		p.circle("open", x, -top-6, 4)
		marks = append(marks, mark{x: x, name: h.Name + " (open)", soft: true})
	}
	for _, seat := range j.Seats {
		x, top := opening(seat.At.Value, seat.Hole.Value)
		half := float64(seat.Pad.Value) / 2 * scale
		if seat.Stands.Value == catalog.Open {
			top += lifted - 2
		}
		p.box("pad", x-half, -top, x+half, -top-5)
		marks = append(marks, mark{x: x, name: seat.Name})
	}
	sortMarks(marks)
	return marks
}

// drawEnds draws what closes the ends.
func drawEnds(p *pen, j catalog.Joint, scale float64) {
	for _, e := range j.Ends {
		x := float64(e.At.Value) * scale
		half := float64(j.DiameterAt(e.At.Value))/2*scale + 3
		out := 8.0
		if e.At.Value < j.Length()/2 {
			out = -out
		}
		class := "plug"
		if !e.Stoppered() {
			class = "plug fixed"
		}
		p.path(class, true, [2]float64{x - out/3, -half + 4}, [2]float64{x + out, -half}, [2]float64{x + out, half}, [2]float64{x - out/3, half - 4})
	}
}

// ruler draws positions beside the joint from y on, and returns where it ends.
func (s *Site) ruler(p *pen, j catalog.Joint, scale, y float64) float64 {
	unit := s.shown().units.Length
	long := unit.Of(j.Length())
	p.line("rule", 0, y, float64(j.Length())*scale, y)
	for _, tick := range plot.Ticks(0, long, 6) {
		x := tick / max(long, 1e-9) * float64(j.Length()) * scale
		if tick < 0 || x > float64(j.Length())*scale+0.5 {
			continue
		}
		p.line("rule", x, y, x, y+5)
		text := plain(tick)
		if tick == 0 {
			text += " " + unit.Symbol()
		}
		tx, ty := p.at(x, y+8)
		if p.upright {
			p.text("tick", "end", tx, ty+4, 0, text)
		} else {
			p.text("tick", "middle", max(tx, 10), ty+11, 0, text)
		}
	}
	return y + 8
}

// jointWords say what the drawing shows.
func (s *Site) jointWords(j catalog.Joint) string {
	var b strings.Builder
	fmt.Fprintf(&b, "The bore cut lengthwise, to scale, the player’s end first: %s long, %s wide there, %s at the other end.",
		s.shown().length(float64(j.Length())), s.shown().length(float64(j.DiameterAt(0))), s.shown().length(float64(j.DiameterAt(j.Length()))))
	for _, e := range j.Ends {
		fmt.Fprintf(&b, " %s at %s, closed by %s.", capital(e.Name), s.shown().length(float64(e.At.Value)), e.ClosedBy.Value)
	}
	if len(j.Seats) > 0 {
		var seats []string
		for _, seat := range j.Seats {
			seats = append(seats, fmt.Sprintf("%s at %s, %s at rest", seat.Name, s.shown().length(float64(seat.At.Value)), seat.Stands.Value))
		}
		b.WriteString(" Seats: " + strings.Join(seats, "; ") + ".")
	}
	for _, h := range j.Holes {
		fmt.Fprintf(&b, " Open hole %s at %s.", h.Name, s.shown().length(float64(h.At.Value)))
	}
	return b.String()
}
