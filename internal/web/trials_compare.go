package web

import (
	"errors"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"boretight/internal/plot"
	"boretight/internal/trial"
)

// compareView is the page of a joint as found against as left.
type compareView struct {
	Frame       frame
	Subject     subjectView
	Sentence    string
	Ratio       *ticketChange
	Sides       []sideView
	Difference  *figureView
	Rules       []string
	Because     []string
	Notes       []string
	Change      template.HTML
	Overlay     template.HTML
	Found, Left string // identities
}

// sideView is one of the two trials.
type sideView struct {
	Name string
	trialRow
}

// pairsView is the page that offers what of a visit can be compared.
type pairsView struct {
	Frame   frame
	Ticket  string
	Pairs   []Pair
	Lacking []string
}

func (s *Site) comparePage(w http.ResponseWriter, r *http.Request, records Records) {
	found, left := r.FormValue("found"), r.FormValue("left")
	if found == "" || left == "" {
		s.noRecord(w, r, "Nothing to compare.", "A comparison is of two trials of one joint, as found and as left: open it from a ticket or from a trial.")
		return
	}
	if found == left {
		s.noRecord(w, r, "These two cannot be compared.", "Both are the same trial: name the one as found and the one as left.")
		return
	}
	c, err := records.CompareTrials(r.Context(), found, left)
	switch {
	case errors.Is(err, trial.ErrNoRate) || errors.Is(err, trial.ErrUnlike):
		s.noRecord(w, r, "These two cannot be compared.", asSentence(err.Error()))
		return
	case err != nil:
		s.recordFault(w, r, err)
		return
	}
	s.render(w, r, "trialcompare.html", s.compareView(r, c))
}

// asSentence makes one of an error's text.
func asSentence(text string) string {
	if text == "" {
		return ""
	}
	return strings.TrimSuffix(capital(text), ".") + "."
}

// capital begins a text with a capital letter.
func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 || first == utf8.RuneError {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

func (s *Site) compareView(r *http.Request, c Compared) compareView {
	u := s.shown()
	view := compareView{
		Subject: subjectOfTrial(c.After.Trial), Sentence: u.comparedWords(c), Because: c.Because, Notes: c.Notes,
		Found: c.Before.ID, Left: c.After.ID,
		Sides: []sideView{{"as found", s.trialRow(c.Before.TrialRecord)}, {"as left", s.trialRow(c.After.TrialRecord)}},
	}
	view.Subject.When = ""
	view.Frame = s.frame(r, "As found and as left: "+view.Subject.Words(), "/trials", "plot.css", "records.css")
	view.Frame.Back = &link{"/trials/" + c.After.ID, "The trial as left"}
	difference := c.Difference
	view.Difference = u.figure(&difference, c.DifferenceSCCM, nil, c.After.Ambient)
	view.Ratio = improvedWords(c.Comparison)
	var rules listing
	change := plot.Change{Title: "Leakage rate as found and as left"}
	limits := map[string]float64{} // as written
	for i, side := range []WholeTrial{c.Before, c.After} {
		if t := view.Sides[i].Result; t != nil {
			rules.rule(t.Verdict.Rule)
		}
		if d := side.Result.Decision; d != nil {
			limits[u.limit(d, side.Ambient)] = u.rateLimit(d, side.Ambient)
		}
		if e, ok := u.flow(side.Result.LeakRate, side.Result.SCCM, side.Ambient); ok {
			figure := u.ofTrial(&side.Result, side.Ambient)
			change.Unit = figure.Unit
			change.Outcomes = append(change.Outcomes, plot.Outcome{
				Name: view.Sides[i].Name, Value: e.Value, Low: e.Low, High: e.High,
				Written: figure.Value + " ± " + figure.U, Verdict: verdictInk(side.Result.Verdict),
			})
		}
	}
	if len(limits) == 1 { // else neither is that of both
		change.Limit = slices.Max(slices.Collect(maps.Values(limits)))
	}
	view.Rules = rules.Rules
	view.Change = drawn("change", change, 190, 170)
	over := plot.Overlay{Found: u.overlaid(c.Before), Left: u.overlaid(c.After), Wedge: edge(c.Again)}
	if d := c.After.Result.Decision; d != nil {
		over.Limit = "limit " + u.limit(d, c.After.Ambient)
	}
	if len(over.Found)+len(over.Left) > 0 {
		view.Overlay = drawn("before-after", over, 400, 300)
	}
	return view
}

// comparedWords says a comparison in a sentence, in the shop's unit.
func (u shown) comparedWords(c Compared) string {
	before, after := u.ofTrial(&c.Before.Result, c.Before.Ambient), u.ofTrial(&c.After.Result, c.After.Ambient)
	if u.flowFactor(0) == 0 || before == nil || after == nil {
		return c.Sentence // which is in sccm
	}
	figures := fmt.Sprintf("%s ± %s %s as found, %s ± %s %s as left.", before.Value, before.U, before.Unit, after.Value, after.U, after.Unit)
	change := improvedWords(c.Comparison)
	if change.Times == "" {
		return capital(change.Says) + ": " + figures
	}
	return "As left, the joint is " + change.Times + " " + change.Says + " than as found (" + change.Interval + "): " + figures
}

// compareTicket goes to the one comparison that a visit offers, or lists several.
func (s *Site) compareTicket(w http.ResponseWriter, r *http.Request, records Records) {
	ticket := r.PathValue("id")
	pairs, lacking, err := records.PairsOf(r.Context(), ticket, r.FormValue("joint"))
	switch {
	case err != nil:
		s.recordFault(w, r, err)
		return
	case len(pairs) == 1:
		http.Redirect(w, r, pairs[0].Address(), http.StatusSeeOther)
		return
	}
	view := pairsView{Ticket: ticket, Pairs: pairs, Lacking: lacking}
	view.Frame = s.frame(r, "Compare ticket "+ticket, "/tickets", "records.css")
	s.render(w, r, "trialpairs.html", view)
}

// Address of the comparison.
func (p Pair) Address() string { return "/compare?found=" + p.Found + "&left=" + p.Left }
