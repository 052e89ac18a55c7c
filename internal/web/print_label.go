package web

import (
	"net/http"
	"slices"
	"strings"
)

// labelView is the label for the case.
type labelView struct {
	printView
	Size  labelStock
	Sizes []labelStock
	Crowd string // few, some or many lines: the more, the smaller the letters
	More  int    // joints for which there is no room
	Rule  string
	Key   []string // the verdicts whose shapes are on it
}

// labelStock is a label as the printers of small labels have it.
type labelStock struct{ Name, Words string }

var labelStocks = []labelStock{{"62x29", "62 × 29 mm"}, {"89x36", "89 × 36 mm"}}

// mostLabelled is how many joints a label has room for.
const mostLabelled = 6

// wholeChance is how the rule says the chance that a label has no room for in words.
const wholeChance = "the probability that the leakage rate is at or below the limit is at least"

func (s *Site) labelPage(w http.ResponseWriter, r *http.Request, records Records) {
	slip, err := records.SlipOf(r.Context(), r.PathValue("ticket"))
	if err != nil {
		s.recordFault(w, r, err)
		return
	}
	view := labelView{Size: labelStocks[0], Sizes: labelStocks}
	for _, size := range labelStocks {
		if size.Name == r.FormValue("size") {
			view.Size = size
		}
	}
	if view.printView, err = s.printView(slip); err != nil {
		s.fault(w, r, err)
		return
	}
	view.Title = "Label of ticket " + slip.Ticket
	if len(view.Joints) > mostLabelled {
		view.More = len(view.Joints) - mostLabelled
		view.Joints = view.Joints[:mostLabelled]
	}
	view.Crowd = crowd(len(view.Joints))
	if len(view.Rules) > 0 { // as far as it says when a joint passes: the slip has all of it
		view.Rule, _, _ = strings.Cut(view.Rules[0], ",")
		view.Rule = strings.Replace(view.Rule, wholeChance, "P(within) ≥", 1)
	}
	for _, j := range view.Joints {
		for _, result := range []*printResult{j.Found, j.Left} {
			if result != nil && result.Verdict.Limit != "" && !slices.Contains(view.Key, result.Verdict.Class) {
				view.Key = append(view.Key, result.Verdict.Class)
			}
		}
	}
	s.render(w, r, "printlabel.html", view)
}

func crowd(lines int) string {
	switch {
	case lines <= 2:
		return "few"
	case lines <= 4:
		return "some"
	}
	return "many"
}
