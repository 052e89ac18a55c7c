package web

import (
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"time"

	"boretight/internal/bench"
	"boretight/internal/ledger"
	"boretight/internal/plot"
)

// trialListView is the page that lists trials.
type trialListView struct {
	Frame  frame
	List   listing
	Trials []trialRow
}

// trialRow is a trial in the list.
type trialRow struct {
	ID          string
	Stamp, Time string
	Subject     subjectView
	Result      *trialView // nil when none of its holds counts
	Verdict     verdictView
	Holds       string // "3 holds, 2 used"
	At, Sign    string
}

func (s *Site) trialList(w http.ResponseWriter, r *http.Request, records Records) {
	of, f := asked(r)
	trials, err := records.ListTrials(r.Context(), of)
	if err != nil {
		s.recordFault(w, r, err)
		return
	}
	last := ""
	if len(trials) > listLength {
		trials = trials[:listLength]
		last = trials[listLength-1].ID
	}
	view := trialListView{Frame: s.frame(r, "Trials", "/trials", "records.css"), List: newListing("/trials", of, f, last)}
	for _, t := range trials {
		row := s.trialRow(t)
		view.List.rule(row.Verdict.Rule)
		view.Trials = append(view.Trials, row)
	}
	s.render(w, r, "triallist.html", view)
}

func (s *Site) trialRow(t TrialRecord) trialRow {
	u := s.shown()
	row := trialRow{
		ID: t.ID, Stamp: t.At.UTC().Format(time.RFC3339), Time: u.moment(t.At), Subject: subjectOfTrial(t.Trial),
		Result: u.trialView(&t.Result, t.Ambient), Holds: counting(len(t.Holds), "hold"), At: u.pressure(t.Result.At), Sign: t.Result.Sign,
	}
	if row.Result != nil {
		row.Verdict = row.Result.Verdict
	}
	if used := t.Result.Used; used != len(t.Holds) {
		row.Holds += ", " + strconv.Itoa(used) + " used"
	}
	return row
}

func subjectOfTrial(t ledger.Trial) subjectView {
	return subjectOf(bench.Setup{
		Instrument: t.Instrument, Joint: t.Joint, Section: t.Section, Closure: t.Closure, When: t.When, Ticket: t.Ticket,
	})
}

// trialPageView is the page of one trial.
type trialPageView struct {
	Frame    frame
	Trial    trialRow
	Result   resultView
	Members  []trialMember
	Scale    string // that all holds are drawn on, in words
	Width    string // of a small tide
	Height   string
	Plot     template.HTML
	Compare  []link // with what it can be compared
	Outliers []string
}

// trialMember is a hold of the trial.
type trialMember struct {
	holdView
	Aside *asideView
}

func (s *Site) trialPage(w http.ResponseWriter, r *http.Request, records Records) {
	whole, err := records.WholeTrial(r.Context(), r.PathValue("id"))
	if err != nil {
		s.recordFault(w, r, err)
		return
	}
	view := s.trialPageView(r, whole)
	if whole.Ticket != "" {
		pairs, _, err := records.PairsOf(r.Context(), whole.Ticket, "")
		if err != nil {
			s.recordFault(w, r, err)
			return
		}
		for _, p := range pairs {
			if p.Found == whole.ID || p.Left == whole.ID {
				view.Compare = append(view.Compare, link{"/compare?found=" + p.Found + "&left=" + p.Left, "as found against as left"})
			}
		}
	}
	s.render(w, r, "trial.html", view)
}

func (s *Site) trialPageView(r *http.Request, whole WholeTrial) trialPageView {
	u := s.shown()
	view := trialPageView{Trial: s.trialRow(whole.TrialRecord), Width: fixed(tideWidth, 0), Height: fixed(tideHeight, 0)}
	view.Frame = s.frame(r, "Trial of "+view.Trial.Subject.Words(), "/trials", "plot.css", "records.css")
	view.Frame.Back = &link{"/trials", "All trials"}
	if t := view.Trial.Result; t != nil {
		view.Result = newResult(t.Verdict, t.Figure, whole.Result.Decision)
		view.Result.Verdict.Against = u.againstOf(view.Trial)
	}
	common := scaleOf(datas(whole.Members))
	view.Scale = "each " + common.words(s.shown())
	for _, m := range whole.Members {
		member := trialMember{holdView: s.holdView(m.HoldData, common), Aside: s.asideView(m.Aside)}
		member.standing(m.HoldData)
		member.Time = u.moment(m.Ended)
		view.Members = append(view.Members, member)
	}
	for _, o := range whole.Result.Outliers {
		view.Outliers = append(view.Outliers, o.Reason)
	}
	counted, aside := apart(whole)
	view.Plot = u.overlay("overlay", "The holds of the trial over one another",
		holdSet{"that count", plot.Main, nil, counted}, holdSet{"set aside", plot.Soft, []float64{5, 5}, aside})
	return view
}

func datas(members []TrialHold) []bench.HoldData {
	all := make([]bench.HoldData, len(members))
	for i, m := range members {
		all[i] = m.HoldData
	}
	return all
}

// apart returns the holds of a trial that count, and those set aside.
func apart(whole WholeTrial) (counted, aside []bench.HoldData) {
	for _, m := range whole.Members {
		if m.Aside == nil {
			counted = append(counted, m.HoldData)
		} else {
			aside = append(aside, m.HoldData)
		}
	}
	return counted, aside
}

// againstOf is limit, conditions and chance of a trial in a sentence.
func (u shown) againstOf(t trialRow) string {
	if t.Verdict.Limit == "" {
		return ""
	}
	text := strings.Join(present("Limit", t.Verdict.Limit, "at", t.At, t.Sign), " ")
	if t.Verdict.Chance != "" {
		text += ", P(within) " + t.Verdict.Chance
	}
	return text + "."
}
