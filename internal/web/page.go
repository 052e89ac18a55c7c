package web

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/trial"
)

// parseViews reads the templates of all pages.
func parseViews() (*template.Template, error) {
	all, err := template.New("").Funcs(template.FuncMap{"field": field, "chosen": chosen, "path": url.PathEscape}).ParseFS(pageFiles, "pages/*.html")
	if err != nil {
		return nil, fmt.Errorf("parse pages: %w", err)
	}
	return all, nil
}

// pageView is the bench without script: the present snapshot in words. Its script takes
// over from there and uses the same words.
type pageView struct {
	Frame    frame
	On       onView // what lies on the bench on the gauge shown
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
	Reading  string       // the gauge's reading, for when there is no result to show
	Unit     string       // of the reading
	Gauge    string       // whose readings are shown
	// Simulated tells that nobody holds a joint there.
	Simulated bool
	Tiles     []tileView // one a gauge; none when there is one only
	Gauges    []bench.GaugeState
	Warnings  []string
	Next      nextView
	Holds     holdsView
	Rig       rigsView
	Ledger    string   // where records go, and how old the last copy is
	Reasons   []choice // for which a hold is set aside
	Cautions  []caution
	TooHigh   string // the pressure difference that pads and glue are not made for
	shown     shown
}

// onView is what lies on the bench.
type onView struct {
	Ticket  string   // empty: none
	Subject []string // joint, section, closure
	When    string   // as found, as left
	Against []string // limit and conditions
}

// tileView is a gauge among several.
type tileView struct {
	Name, Of, Word, Figure string
	Limit                  string // beside a verdict; its rule stands below the holds
	Class                  string // of a verdict; empty while there is none
	Shown                  bool
}

// holdsView is the part of the page that lists holds.
type holdsView struct {
	Trial *trialView
	Small []holdView // of the trial, oldest first, on one scale
	Scale string     // that scale in words
	Holds []holdView // newest first
	// Budgets of the newest hold and of the trial.
	Budgets       []titledBudget
	Rules         []string // the decision rules behind the verdicts listed
	Width, Height string   // of a small tide
}

const (
	smallTides = 8
	listed     = 10
	// hardLimit in Pa: pads and glue are not made for more. Common practice, no source.
	hardLimit = 6000
)

func (s *Site) page(w http.ResponseWriter, r *http.Request) {
	s.render(w, r, "page.html", s.pageView(r))
}

func (s *Site) holdsPart(w http.ResponseWriter, r *http.Request) {
	snapshot := s.bench.Snapshot()
	s.render(w, r, "holds.html", s.holdsView(snapshot, gaugeAsked(snapshot, r)))
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
	sendPage(w, status, out.Bytes())
}

func sendPage(w http.ResponseWriter, status int, page []byte) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(page) // fails only when the reader has gone
}

// gaugeAsked is the gauge that a request names with ?gauge=, else the first.
func gaugeAsked(snapshot bench.Snapshot, r *http.Request) bench.GaugeState {
	name := r.FormValue("gauge")
	for _, g := range snapshot.Gauges {
		if g.Name == name {
			return g
		}
	}
	if len(snapshot.Gauges) == 0 {
		return bench.GaugeState{}
	}
	return snapshot.Gauges[0]
}

func (s *Site) pageView(r *http.Request) pageView {
	snapshot := s.bench.Snapshot()
	g := gaugeAsked(snapshot, r)
	view := pageView{
		Frame:     s.frame(r, "", "/"),
		On:        s.onView(g),
		Gauge:     g.Name,
		Simulated: simulated(g.Address),
		Gauges:    snapshot.Gauges,
		Tiles:     s.tiles(snapshot, g.Name),
		Next:      s.nextView(r.Context(), snapshot, g),
		Holds:     s.holdsView(snapshot, g),
		Rig:       s.rigsView(snapshot),
		Ledger:    ledgerWords(snapshot.Ledger),
		Warnings:  warnings(snapshot),
		Reasons:   voidReasons,
		Cautions:  s.shown().cautions(cautions),
		TooHigh:   s.shown().roughly(hardLimit),
		shown:     s.shown(),
	}
	view.present(g)
	view.Frame.Title = view.Word
	if view.Class != "calm" && view.Figure != nil {
		view.Worth = worthOf(snapshot, g.Name)
	}
	return view
}

// simulated reports whether an address, which may begin with the gauge's name, is of a
// simulated gauge.
func simulated(address string) bool {
	if _, rest, ok := strings.Cut(address, "="); ok && !strings.HasPrefix(address, "sim:") {
		address = rest
	}
	return strings.HasPrefix(address, "sim:")
}

func (s *Site) onView(g bench.GaugeState) onView {
	return onView{
		Ticket: g.Setup.Ticket, Subject: subject(g.Setup), When: whenWords(g.Setup.When), Against: s.shown().against(g.Setup),
	}
}

// tiles are the gauges side by side, where there are several.
func (s *Site) tiles(snapshot bench.Snapshot, shown string) []tileView {
	if len(snapshot.Gauges) < 2 {
		return nil
	}
	var all []tileView
	for _, g := range snapshot.Gauges {
		tile := tileView{Name: g.Name, Of: strings.Join(present(jointWords(g.Setup), whenWords(g.Setup.When)), ", "), Shown: g.Name == shown}
		switch {
		case !g.Up:
			tile.Word = "no gauge"
		case g.Phase == "rest" && g.Trial != nil && g.Trial.Holds > 0:
			trial := s.shown().trialView(g.Trial, g.Setup.Ambient)
			tile.Word, tile.Class = trial.Verdict.Word, trial.Verdict.Class
			if limit := trial.Verdict.Limit; limit != "" {
				tile.Limit = "limit " + limit
			}
			if f := trial.Figure; f != nil {
				tile.Figure = f.Value + " ± " + f.U + " " + f.Unit
			}
		default:
			tile.Word = g.Phase
		}
		all = append(all, tile)
	}
	return all
}

// tilesPart is the gauges side by side as the page shows them, for its script.
func (s *Site) tilesPart(w http.ResponseWriter, r *http.Request) {
	snapshot := s.bench.Snapshot()
	s.render(w, r, "tiles", s.tiles(snapshot, gaugeAsked(snapshot, r).Name))
}

// theme is the one that was chosen on the page; empty is the system's.
func theme(r *http.Request) string {
	if cookie, err := r.Cookie("boretight_theme"); err == nil && (cookie.Value == "light" || cookie.Value == "dark") {
		return cookie.Value
	}
	return ""
}

// present fills in what the page says in huge letters of a gauge.
func (v *pageView) present(gauge bench.GaugeState) {
	v.Class = "calm"
	if !gauge.Up {
		v.Word = "no gauge"
		v.Advice = "Plug the gauge in: it is noticed by itself."
		return
	}
	v.Word = gauge.Phase
	relative := math.Abs(gauge.Pressure - gauge.RestLevel)
	v.Reading, v.Unit = v.shown.pressureFigure(relative), v.shown.units.Pressure.Symbol()
	if relative > hardLimit {
		v.Word, v.Advice = "too high", "Let it down now."
		return
	}
	reach := v.shown.reach(statedAt(gauge.Setup))
	switch gauge.Phase {
	case "rest", "venting":
		v.Advice = "Plug the joint, close the keys, then draw to " + reach + "."
		if hold := v.Holds.last(); hold != nil && hold.Present {
			v.conclude(*hold)
		}
	case "holding":
		v.Advice = "Keep still."
		if gauge.Estimate != nil {
			v.running(*gauge.Estimate, gauge.Setup.Ambient)
		}
	case "settling":
		v.Advice = "Keep still."
	case "drawing":
		v.Advice = "Draw to " + reach + ", then shut the valve."
		if relative >= statedAt(gauge.Setup) {
			v.Word, v.Advice = "shut the valve", "The draw is reached."
		}
	}
}

// last is the newest hold; nil when it was set aside: an older one does not take its place.
func (v holdsView) last() *holdView {
	if len(v.Holds) == 0 || v.Holds[0].Voided != "" {
		return nil
	}
	return &v.Holds[0]
}

// conclude shows a finished hold.
func (v *pageView) conclude(hold holdView) {
	v.Word, v.Class = hold.Verdict.Word, hold.Verdict.Class
	v.Verdict, v.Figure, v.Ended = &hold.Verdict, hold.Figure, "hold ended "+hold.Time
	if hold.Of != "" {
		v.Ended += ", " + hold.Of
	}
	v.Pressing, v.Advice = hold.Pressing, ""
	if hold.Verdict.Next != "" {
		v.Advice = "To settle it: " + hold.Verdict.Next + "."
	}
	if hold.Figure == nil {
		v.miss()
	}
}

// miss says that the hold shown has no figure. The gauge's reading in its place would look
// like one.
func (v *pageView) miss() {
	v.Missing = "no leakage rate"
	if len(v.Pressing) > 0 {
		v.Why, v.Pressing = v.Pressing[0], v.Pressing[1:]
	}
	v.Ended += " · gauge reading " + v.Reading + " " + v.Unit
}

// running fills in what an estimate says of the hold in progress. Once the verdict is
// certain it is what matters most.
func (v *pageView) running(e bench.EstimateData, ambient float64) {
	v.Word = "holding " + strconv.Itoa(int(math.Floor(e.Held))) + " s"
	v.Figure, v.Ended = v.shown.figure(e.Outcome.LeakRate, e.Outcome.SCCM, e.Outcome.PressureRate, ambient), "so far"
	if v.Figure == nil {
		return
	}
	v.Pressing = pressing(e.Outcome)
	if e.Outcome.Decision != nil && e.Outcome.Decision.Wait > 0 {
		v.Advice = "Keep still: a verdict is expected in about " + fixed(e.Outcome.Decision.Wait, 0) + " s."
	}
	view := v.shown.verdictOfHold(e.Outcome, ambient)
	v.Verdict = &view
	if e.Outcome.Verdict != trial.Pass && e.Outcome.Verdict != trial.Fail {
		view.Rule = "" // nothing is judged yet
		return
	}
	v.Advice = fmt.Sprintf("Certain after %.0f s: the valve may be opened.", math.Floor(e.Held))
	v.Word, v.Class = view.Word, view.Class
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

// holdsView lists the holds of a gauge.
func (s *Site) holdsView(snapshot bench.Snapshot, g bench.GaugeState) holdsView {
	view := holdsView{
		Trial: s.shown().trialView(g.Trial, g.Setup.Ambient),
		Width: fixed(tideWidth, 0), Height: fixed(tideHeight, 0),
	}
	holds := slices.DeleteFunc(slices.Clone(snapshot.Holds), func(h bench.HoldData) bool { return h.Gauge != "" && h.Gauge != g.Name })
	count := 0
	if g.Trial != nil { // else the holds listed are of what was measured before
		count = smallCount(holds, g.Trial.Holds)
	}
	small := standing(holds[:count])
	common := scaleOf(small)
	if len(small) > 0 {
		view.Scale = "each " + common.words(s.shown())
	}
	seen := make(map[string]bool)
	for _, hold := range holds[:min(len(holds), listed)] {
		h := s.holdView(hold, common)
		h.Present = presentOn(g, hold)
		view.Holds = append(view.Holds, h)
		if rule := h.Verdict.Rule; rule != "" && !seen[rule] {
			seen[rule] = true
			view.Rules = append(view.Rules, rule)
		}
	}
	for _, other := range snapshot.Gauges { // the tiles say their verdicts
		if t := other.Trial; t != nil && t.Decision != nil && !seen[t.Decision.Rule] && t.Decision.Rule != "" {
			seen[t.Decision.Rule] = true
			view.Rules = append(view.Rules, t.Decision.Rule)
		}
	}
	view.Budgets = budgetsOf(view)
	for _, hold := range slices.Backward(small) {
		view.Small = append(view.Small, s.holdView(hold, common))
	}
	return view
}

// presentOn reports whether a hold is of what lies on the bench on a gauge since it was laid
// there: the same joint laid there once more may have been taken apart between. app.js asks
// the same.
func presentOn(g bench.GaugeState, hold bench.HoldData) bool {
	return hold.On.Same(g.Setup) && (hold.Hold == nil || g.Trial != nil)
}

// smallCount is how many of the newest holds reach back to the first of a trial that has
// some, those that were set aside not counted.
func smallCount(holds []bench.HoldData, ofTrial int) int {
	for i, h := range holds {
		if i == smallTides || ofTrial == 0 {
			return i
		}
		if h.Voided == "" && h.Hold != nil {
			ofTrial--
		}
	}
	return len(holds)
}

// standing leaves out what was set aside and what was never held.
func standing(holds []bench.HoldData) []bench.HoldData {
	return slices.DeleteFunc(slices.Clone(holds), func(h bench.HoldData) bool { return h.Voided != "" || h.Hold == nil })
}
