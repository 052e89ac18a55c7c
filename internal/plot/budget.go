package plot

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Source is one line of a budget.
type Source struct {
	Name  string
	Share float64 // of the variance, 0 to 1
	U     string  // the standard uncertainty that it contributes, as written
}

// Budget is what a result's uncertainty is made of, as bars, the largest first.
type Budget struct {
	Title   string
	Sources []Source
}

var _ Drawing = Budget{}

// Words implements [Drawing].
func (b Budget) Words() (title, description string) {
	title = orElse(b.Title, "What the uncertainty is made of")
	sources := b.sorted()
	if len(sources) == 0 {
		return title, "No budget."
	}
	var parts []string
	for _, s := range sources {
		parts = append(parts, clean(s.Name)+" "+percent(s.Share))
	}
	return title, "Shares of the variance: " + strings.Join(parts, ", ") + "."
}

// Draw implements [Drawing]. Sources for which there is no room are joined in one line.
func (b Budget) Draw(c Canvas, size Size) {
	const lowest = 1.5 * letters // row that can be read
	sources := joined(b.sorted(), max(1, int((size.Height-belowAxis-4)/lowest)))
	var names, figures []string
	for _, s := range sources {
		names = append(names, clean(s.Name))
		figure := percent(s.Share)
		if s.U != "" {
			figure += ", u " + clean(s.U)
		}
		figures = append(figures, figure)
	}
	most := 0.0
	for _, s := range sources {
		most = max(most, s.Share)
	}
	r := lay(c, size, span{0, max(100*most, 10)}, names, figures)
	for i, s := range sources {
		half := min(0.3*r.height, 8)
		y := r.middle(i)
		r.Path(Rect{r.area.Left, y - half, r.x.px(100 * s.Share), y + half}.box(), Style{Fill: Main})
	}
	r.Path(rule(r.area.Left, r.area.Top, r.area.Left, r.area.Bottom), Style{Stroke: Main, Width: 1})
	r.write()
	r.drawHorizontal(Axis{Name: "share of the variance", Unit: "%"})
	if len(sources) == 0 {
		r.say("no budget")
	}
}

// sorted is the usable sources, the largest first.
func (b Budget) sorted() []Source {
	var all []Source
	for _, s := range b.Sources {
		if finite(s.Share) && s.Share >= 0 {
			all = append(all, Source{s.Name, min(s.Share, 1), s.U})
		}
	}
	slices.SortStableFunc(all, func(x, y Source) int {
		switch {
		case x.Share > y.Share:
			return -1
		case x.Share < y.Share:
			return 1
		}
		return 0
	})
	return all
}

// joined leaves at most rows sources: the last then stands for all smaller ones.
func joined(all []Source, rows int) []Source {
	if len(all) <= rows {
		return all
	}
	rest := Source{Name: fmt.Sprintf("%d smaller ones", len(all)-rows+1)}
	for _, s := range all[rows-1:] {
		rest.Share += s.Share
	}
	rest.Share = min(rest.Share, 1)
	return append(all[:rows-1:rows-1], rest)
}

// percent writes a share: two digits below ten, whole ones above.
func percent(share float64) string {
	switch p := 100 * share; {
	case p < 0.1:
		return "< 0.1 %"
	case math.Round(10*p) < 100:
		return number(p, 1) + " %"
	default:
		return number(p, 0) + " %"
	}
}
