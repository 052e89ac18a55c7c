package plot

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// SVG writes drawings as SVG, to stand in a page or alone.
type SVG struct {
	// ID begins the ids inside; of several drawings in one page each needs its own.
	// What is no letter of ASCII, figure, - or _ becomes -; empty is "plot".
	ID string
}

// Write returns the drawing as one svg element. It refuses a size that is not
// positive, or larger than anything is printed.
func (s SVG) Write(d Drawing, size Size) ([]byte, error) {
	if !(size.Width >= 1 && size.Height >= 1 && size.Width <= largest && size.Height <= largest) {
		return nil, fmt.Errorf("write plot as SVG: size %g × %g px: want 1 to %d each way", size.Width, size.Height, int(largest))
	}
	w := svgCanvas{id: identifier(s.ID)}
	title, description := d.Words()
	w.begin(size, clean(title), clean(description))
	d.Draw(&w, size)
	w.text("</svg>\n")
	return w.out, nil
}

// largest coordinate that is written, in px: beyond it nothing is ever seen. What
// lies farther out is drawn there.
const largest = 100_000.0

// svgCanvas is the [Canvas] behind [SVG].
type svgCanvas struct {
	out   []byte
	id    string
	clips int
}

var _ Canvas = (*svgCanvas)(nil)

func (w *svgCanvas) begin(size Size, title, description string) {
	w.text(`<svg xmlns="http://www.w3.org/2000/svg" class="plot" role="img" aria-labelledby="`, w.id, `-title" aria-describedby="`, w.id, `-desc" width="`)
	w.number(size.Width)
	w.text(`" height="`)
	w.number(size.Height)
	w.text(`" viewBox="0 0 `)
	w.number(size.Width)
	w.text(" ")
	w.number(size.Height)
	w.text(`" font-family="system-ui, 'DejaVu Sans', sans-serif" stroke-linejoin="round" stroke-linecap="round">`+"\n<title id=\"", w.id, `-title">`)
	w.escaped(title)
	w.text(`</title><desc id="`, w.id, `-desc">`)
	w.escaped(description)
	w.text("</desc>\n")
}

// Path implements [Canvas].
func (w *svgCanvas) Path(p *Path, s Style) {
	if p.Empty() || s.Fill == NoInk && s.Stroke == NoInk {
		return
	}
	w.text(`<path class="`)
	if s.Fill != NoInk {
		w.text("f-", s.Fill.class())
	}
	if s.Stroke != NoInk {
		if s.Fill != NoInk {
			w.text(" ")
		}
		w.text("s-", s.Stroke.class())
	}
	w.text(`" fill="`)
	if s.Fill == NoInk {
		w.text("none")
	} else {
		w.colour(s.Fill)
	}
	if s.Stroke != NoInk {
		w.text(`" stroke="`)
		w.colour(s.Stroke)
		w.text(`" stroke-width="`)
		w.number(s.Width)
	}
	for i, dash := range s.Dash {
		w.text([]string{`" stroke-dasharray="`, " "}[min(i, 1)])
		w.number(dash)
	}
	w.text(`" d="`)
	w.steps(p)
	w.text("\"/>\n")
}

// steps writes a path in tenths of a px, each point from the written place of the one
// before it: short, and without an error that grows.
func (w *svgCanvas) steps(p *Path) {
	var x, y, beginX, beginY int
	drawn := true
	for _, step := range p.Steps {
		toX, toY := tenths(step.At.X), tenths(step.At.Y)
		switch step.Op {
		case Move:
			w.out = append(w.out, 'M')
			w.pair(toX, toY)
			x, y, drawn = toX, toY, false
			beginX, beginY = x, y
		case Line:
			if drawn && toX == x && toY == y {
				continue // not to be seen; but a lone point is, by its round ends
			}
			w.out = append(w.out, 'l')
			w.pair(toX-x, toY-y)
			x, y, drawn = toX, toY, true
		case Close:
			w.out = append(w.out, 'Z')
			x, y, drawn = beginX, beginY, true
		}
	}
}

// Text implements [Canvas].
func (w *svgCanvas) Text(at Point, text string, s TextStyle) {
	text = clean(text)
	if text == "" {
		return
	}
	w.text(`<text class="f-`, s.Ink.class())
	if s.Halo {
		w.text(` s-paper`)
	}
	w.text(`" x="`)
	w.number(at.X)
	w.text(`" y="`)
	w.number(at.Y)
	w.text(`" font-size="`)
	w.number(s.Size)
	if s.Bold {
		w.text(`" font-weight="600`)
	}
	w.text([...]string{"", `" text-anchor="middle`, `" text-anchor="end`}[min(s.Anchor, End)])
	w.text(`" fill="`)
	w.colour(s.Ink)
	if s.Halo {
		w.text(`" stroke="#ffffff" stroke-width="4" paint-order="stroke`)
	}
	w.text(`">`)
	w.escaped(text)
	w.text("</text>\n")
}

// Clip implements [Canvas].
func (w *svgCanvas) Clip(r Rect) {
	w.clips++
	id := w.id + "-clip-" + strconv.Itoa(w.clips)
	w.text(`<clipPath id="`, id, `"><path d="`)
	w.steps(r.box())
	w.text(`"/></clipPath><g clip-path="url(#`, id, ")\">\n")
}

// Unclip implements [Canvas].
func (w *svgCanvas) Unclip() { w.text("</g>\n") }

func (w *svgCanvas) text(parts ...string) {
	for _, part := range parts {
		w.out = append(w.out, part...)
	}
}

// escaped writes text that was cleaned, for between tags.
func (w *svgCanvas) escaped(text string) {
	w.text(strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;").Replace(text))
}

func (w *svgCanvas) colour(i Ink) {
	c := i.OnPaper()
	w.out = fmt.Appendf(w.out, "#%02x%02x%02x", c.R, c.G, c.B)
}

func (w *svgCanvas) number(x float64) { w.out = appendTenths(w.out, tenths(x)) }

// pair writes two numbers; a minus sign divides them as well as a space.
func (w *svgCanvas) pair(x, y int) {
	w.out = appendTenths(w.out, x)
	if y >= 0 {
		w.out = append(w.out, ' ')
	}
	w.out = appendTenths(w.out, y)
}

// tenths rounds to a tenth of a px. What is not finite never comes here but by a
// mistake of ours, and is then drawn in the corner rather than breaking the file.
func tenths(x float64) int {
	if math.IsNaN(x) {
		return 0
	}
	return int(math.Round(10 * min(max(x, -largest), largest)))
}

func appendTenths(out []byte, n int) []byte {
	if n < 0 {
		out, n = append(out, '-'), -n
	}
	out = strconv.AppendInt(out, int64(n/10), 10)
	if n%10 != 0 {
		out = append(out, '.', byte('0'+n%10))
	}
	return out
}

// identifier makes of any text one that is an id and needs no escape.
func identifier(text string) string {
	if text == "" {
		return "plot"
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			return r
		}
		return '-'
	}, text)
}
