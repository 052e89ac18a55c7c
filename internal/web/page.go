package web

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"strconv"

	"boretight/internal/bench"
	"boretight/internal/trial"
)

// parseViews reads the templates of all pages.
func parseViews() (*template.Template, error) {
	all, err := template.New("").Funcs(template.FuncMap{"field": field, "chosen": chosen}).ParseFS(pageFiles, "pages/*.html")
	if err != nil {
		return nil, fmt.Errorf("parse pages: %w", err)
	}
	return all, nil
}

// pageView is the page without script: the present snapshot in words. Its script
// takes over from there and uses the same words.
type pageView struct {
	Version  string
	Theme    string // light, dark, or empty: as the system says
	Subject  []string
	Against  []string
	Draw     string // how far to draw
	Word     string
	Class    string
	Advice   string
	Verdict  *verdictView // of the hold shown
	Worth    string       // what the rig makes the verdict shown worth
	Pressing []string     // notes of the hold shown that must stand beside its verdict
	Figure   *figureView  // of the hold shown
	Ended    string       // when the hold shown ended, or that it has not
	Missing  string       // said in place of the figure of a hold that has none
	Why      string       // why it has none
	Reading  string       // the gauge's reading in kPa, for when there is no result to show
	Gauge    string       // whose readings are shown
	Gauges   []bench.GaugeState
	Warnings []string
	Holds    holdsView
	Rig      rigsView
	Ledger   string // where records go, and how old the last copy is
}

// holdsView is the part of the page that lists holds.
type holdsView struct {
	Trial *trialView
	Small []holdView // of the trial, oldest first, on one scale
	Scale string     // that scale in words
	Holds []holdView // newest first
	// Budgets of the newest hold and of the trial.
	Budgets []titledBudget
	Rules   []string // the decision rules behind the verdicts listed
	Width, Height,
	Middle string // of a small tide
}

const (
	smallTides = 8
	listed     = 30
	// hardLimit in Pa: pads and glue are not made for more. Common practice, no source.
	hardLimit = 6000
)

func (s *Site) page(w http.ResponseWriter, r *http.Request) {
	s.render(w, r, "page.html", s.pageView(r))
}

func (s *Site) holdsPart(w http.ResponseWriter, r *http.Request) {
	s.render(w, r, "holds.html", s.holdsView(s.bench.Snapshot()))
}

func (s *Site) render(w http.ResponseWriter, r *http.Request, page string, view any) {
	s.renderAs(w, r, http.StatusOK, page, view)
}

// renderAs answers with a page. A form that was refused is drawn again with the status of
// what cannot be processed.
func (s *Site) renderAs(w http.ResponseWriter, r *http.Request, status int, page string, view any) {
	var out bytes.Buffer
	if err := s.views.ExecuteTemplate(&out, page, view); err != nil {
		s.fault(w, r, fmt.Errorf("render %s: %w", page, err))
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(out.Bytes()) // fails only when the reader has gone
}

func (s *Site) pageView(r *http.Request) pageView {
	snapshot := s.bench.Snapshot()
	setup, _ := laidOn(snapshot)
	at := statedAt(setup)
	view := pageView{
		Version: s.version,
		Subject: subject(setup),
		Against: against(setup),
		// A little above the stated Δp, so that the hold passes through it.
		Draw:   fixed(at/1000, 2) + "\u00a0to\u00a0" + fixed(1.15*at/1000, 2) + "\u00a0kPa",
		Gauges: snapshot.Gauges,
		Holds:  s.holdsView(snapshot),
		Rig:    s.rigsView(snapshot),
		Ledger: ledgerWords(snapshot.Ledger),
	}
	view.Theme = theme(r)
	view.Warnings = warnings(snapshot)
	view.present(snapshot)
	if view.Verdict != nil && view.Figure != nil {
		view.Worth = worthOf(snapshot, snapshot.Gauges[0].Name)
	}
	return view
}

// theme is the one that was chosen on the page; empty is the system's.
func theme(r *http.Request) string {
	if cookie, err := r.Cookie("boretight_theme"); err == nil && (cookie.Value == "light" || cookie.Value == "dark") {
		return cookie.Value
	}
	return ""
}

// present fills in what the page says in huge letters.
func (v *pageView) present(snapshot bench.Snapshot) {
	v.Class = "calm"
	if len(snapshot.Gauges) == 0 || !snapshot.Gauges[0].Up {
		v.Word = "no gauge"
		v.Advice = "Plug the gauge in: it is noticed by itself."
		return
	}
	gauge := snapshot.Gauges[0]
	v.Word, v.Gauge = gauge.Phase, gauge.Name
	relative := math.Abs(gauge.Pressure - gauge.RestLevel)
	v.Reading = fixed(relative/1000, 2)
	if relative > hardLimit {
		v.Word, v.Advice = "too high", "Let it down now."
		return
	}
	switch gauge.Phase {
	case "rest", "venting":
		v.Advice = "Plug the joint, close the keys, then draw to " + v.Draw + "."
		if len(v.Holds.Holds) > 0 {
			hold := v.Holds.Holds[0]
			v.Word, v.Class = hold.Verdict.Word, hold.Verdict.Class
			v.Verdict, v.Figure, v.Ended = &hold.Verdict, hold.Figure, "hold ended "+hold.Time
			v.Pressing, v.Advice = hold.Pressing, ""
			if hold.Verdict.Next != "" {
				v.Advice = "To settle it: " + hold.Verdict.Next + "."
			}
			if hold.Figure == nil {
				v.miss()
			}
		}
	case "holding":
		v.Advice = "Keep still."
		if e := gauge.Estimate; e != nil && e.Gauge == gauge.Name {
			v.running(*e)
		}
	case "settling":
		v.Advice = "Keep still."
	case "drawing":
		v.Advice = "Draw to " + v.Draw + ", then shut the valve."
	}
}

// miss says that the hold shown has no figure. The gauge's reading in its place would look
// like one.
func (v *pageView) miss() {
	v.Missing = "no leakage rate"
	if len(v.Pressing) > 0 {
		v.Why, v.Pressing = v.Pressing[0], v.Pressing[1:]
	}
	v.Ended += " · gauge reading " + v.Reading + " kPa"
}

// running fills in what an estimate says of the hold in progress. Once the verdict is
// certain it is what matters most.
func (v *pageView) running(e bench.EstimateData) {
	v.Word = "holding " + strconv.Itoa(int(math.Floor(e.Held))) + " s"
	v.Figure, v.Ended = figureOf(e.Outcome.LeakRate, e.Outcome.SCCM, e.Outcome.PressureRate), "so far"
	v.Pressing = pressing(e.Outcome)
	if e.Outcome.Verdict != trial.Pass && e.Outcome.Verdict != trial.Fail {
		return
	}
	v.Advice = "H" + v.Word[1:] + ", and certain already: the valve may be opened."
	view := verdictOfHold(e.Outcome)
	v.Verdict, v.Word, v.Class = &view, view.Word, view.Class
}

// warnings are what must be seen now.
func warnings(snapshot bench.Snapshot) []string {
	var all []string
	for _, gauge := range snapshot.Gauges {
		for _, trouble := range present(gauge.Warning, gauge.Problem) {
			if len(snapshot.Gauges) > 1 {
				trouble = gauge.Name + ": " + trouble
			}
			all = append(all, trouble)
		}
	}
	if snapshot.Ledger.Problem != "" {
		all = append(all, "ledger: "+snapshot.Ledger.Problem)
	}
	if snapshot.Ledger.Lag > 1 {
		all = append(all, fmt.Sprintf("ledger: recording is %.1f s behind", snapshot.Ledger.Lag))
	}
	if copies := snapshot.Ledger.Copies; copies != nil && copies.Problem != "" {
		all = append(all, "copies of the ledger: "+copies.Problem+"; "+copyAge(copies))
	}
	return all
}

func (s *Site) holdsView(snapshot bench.Snapshot) holdsView {
	_, g := laidOn(snapshot)
	t := g.Trial
	view := holdsView{
		Trial: trialViewOf(t),
		Width: fixed(tideWidth, 0), Height: fixed(tideHeight, 0), Middle: fixed(tideHeight/2, 0),
	}
	count := 0
	if t != nil { // else the holds listed are of what was measured before
		count = min(len(snapshot.Holds), smallTides, t.Holds)
	}
	small := snapshot.Holds[:count]
	common := scaleOf(small)
	if count > 0 {
		view.Scale = "each " + common.words()
	}
	seen := make(map[string]bool)
	for _, hold := range snapshot.Holds[:min(len(snapshot.Holds), listed)] {
		h := s.holdView(hold, common)
		view.Holds = append(view.Holds, h)
		if rule := h.Verdict.Rule; rule != "" && !seen[rule] {
			seen[rule] = true
			view.Rules = append(view.Rules, rule)
		}
	}
	view.Budgets = budgetsOf(view)
	for i := count - 1; i >= 0; i-- {
		view.Small = append(view.Small, view.Holds[i])
	}
	return view
}

// laidOn returns what lies on the bench on the first gauge, and that gauge.
func laidOn(snapshot bench.Snapshot) (bench.Setup, bench.GaugeState) {
	if len(snapshot.Gauges) == 0 {
		return bench.Setup{Bench: snapshot.Bench}, bench.GaugeState{}
	}
	return snapshot.Gauges[0].Setup, snapshot.Gauges[0]
}
