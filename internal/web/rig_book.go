package web

import (
	"cmp"
	"context"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/plot"
	"boretight/internal/rig"
)

// RigShelf is what pages read of the rig's records. A [Ledger] that is one too is used as
// one.
type RigShelf interface {
	// RigRecords returns all that the ledger holds of rigs, in the order it was written.
	RigRecords(ctx context.Context) ([]rig.Record, error)
}

func (s *Site) rigRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /rig", s.rigBookPage)
}

// rigRecords returns the rig's records; none where they cannot be asked for.
func (s *Site) rigRecords(ctx context.Context) ([]rig.Record, error) {
	if shelf, ok := s.ledger.(RigShelf); ok {
		return shelf.RigRecords(ctx)
	}
	return nil, nil
}

// newestVolumes returns the newest volume on record of each joint and closure, by name.
func newestVolumes(records []rig.Record) []rig.Record {
	newest := map[string]rig.Record{}
	for _, r := range records {
		if r.Kind == rig.KindVolume && r.Volume != nil && !r.ValidFrom.Before(newest[r.Joint].ValidFrom) {
			newest[r.Joint] = r
		}
	}
	var all []rig.Record
	for _, r := range newest {
		all = append(all, r)
	}
	slices.SortFunc(all, func(a, b rig.Record) int { return cmp.Compare(a.Joint, b.Joint) })
	return all
}

// rigBookView is all that is on record of the rigs.
type rigBookView struct {
	Frame   frame
	Rigs    []rigBook
	Volumes []recordView
}

// rigBook is all that is on record of the rig of one gauge.
type rigBook struct {
	Gauge   string // as the bench calls it; a serial number where it is not on the bench
	Parts   string
	Away    bool // it is not on the bench
	Known   []bookItem
	Worth   []string
	Charts  []chartView
	Counts  []recordView // in full
	History []recordView
	// Folded tells that the history is long.
	Folded bool
}

// bookItem is one thing to know of a rig, how it stands, and how it is measured anew.
type bookItem struct {
	knownView
	ID      string
	Command string
	Do      string // what the command needs, in words
	Due     bool   // it is to be done
}

// chartView is the control chart of the checks with one reference leak.
type chartView struct {
	Leak string
	Plot template.HTML
	Says string
}

// recordView is one record of a rig.
type recordView struct {
	ID, Title, Figure string
	From, Until       string
	Rig               string
	Details           []detailView
	Budget            []budgetLine
	Notes             []string
	Class, Word       string
}

type detailView struct{ Name, Value string }

func (s *Site) rigBookPage(w http.ResponseWriter, r *http.Request) {
	records, err := s.rigRecords(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return
	}
	snapshot := s.bench.Snapshot()
	view := rigBookView{Frame: s.frame(r, "Rig", "/rig", "books.css", "plot.css")}
	told := map[string]bool{}
	for _, state := range snapshot.Rigs {
		told[state.Rig.Gauge] = true
		view.Rigs = append(view.Rigs, s.rigBook(snapshot, len(view.Rigs), state, ofGauge(records, state.Rig.Gauge)))
	}
	for _, r := range records {
		if r.Kind == rig.KindVolume || told[r.Rig.Gauge] {
			continue
		}
		told[r.Rig.Gauge] = true
		away := rigBook{Gauge: cmp.Or(r.Rig.Gauge, "without a serial number"), Away: true}
		own := ofGauge(records, r.Rig.Gauge)
		for _, r := range slices.Backward(own) {
			away.History = append(away.History, s.recordView(r))
		}
		away.Charts = s.chartsOf(own, len(view.Rigs))
		view.Rigs = append(view.Rigs, away)
	}
	for _, v := range newestVolumes(records) {
		view.Volumes = append(view.Volumes, s.recordView(v))
	}
	s.render(w, r, "rigbook.html", view)
}

// ofGauge are the records of a gauge's rigs. Volumes are those of joints, whatever gauge
// measured them.
func ofGauge(records []rig.Record, gauge string) []rig.Record {
	var own []rig.Record
	for _, r := range records {
		if r.Kind != rig.KindVolume && r.Rig.Gauge == gauge {
			own = append(own, r)
		}
	}
	return own
}

// rigBook is what is on record of the rig of a gauge of the bench, the n-th on the page.
func (s *Site) rigBook(snapshot bench.Snapshot, n int, state bench.RigState, own []rig.Record) rigBook {
	book := rigBook{Gauge: state.Gauge, Parts: partsOf(state), Worth: state.Worth}
	address, joint := "ADDRESS", "INSTRUMENT/JOINT"
	for _, g := range snapshot.Gauges {
		if g.Name == state.Gauge {
			address, joint = quotedForCommand(cmp.Or(g.Address, address)), quotedForCommand(cmp.Or(g.Setup.Name(), joint))
		}
	}
	counts := map[string]bool{}
	for _, item := range state.Known {
		one := bookItem{knownView: s.knownView(item, state.Trusted), ID: item.ID, Due: item.State != rig.Holds || item.Says != ""}
		one.Command, one.Do = rigCommand(item.Kind, item.Sign, address, joint)
		counts[item.ID] = true
		book.Known = append(book.Known, one)
	}
	for _, r := range slices.Backward(own) {
		if counts[r.ID] {
			book.Counts = append(book.Counts, s.recordView(r))
		} else {
			book.History = append(book.History, s.recordView(r))
		}
	}
	book.Charts, book.Folded = s.chartsOf(own, n), len(book.History) > longHistory
	return book
}

// rigCommand is what measures something of a rig anew, and what it needs.
func rigCommand(kind rig.Kind, sign, address, joint string) (command, needs string) {
	switch kind {
	case rig.KindCalibration:
		return "boretight calibrate --gauge " + address + " --water 21.3C --latitude 52.1 --altitude 40m",
			"A column of water and a ruler; tell the water’s temperature and where you are."
	case rig.KindBlank:
		command = "boretight rig blank --gauge " + address + " --volume 8.1ml --volume-u 0.2ml"
		return command, "Stoppers joined; tell what the rig itself holds, or --syringe 0.2ml to measure that as well."
	case rig.KindVolume:
		return "boretight rig volume --joint " + joint + " --gauge " + address + " --syringe 0.2ml --syringe-u 0.5%",
			"The joint closed as for a hold, and a small syringe on the hose."
	case rig.KindCheck:
		return "boretight rig check --gauge " + address + " --certificate RL-7.toml --volume 50ml --volume-u 0.5%",
			"A reference leak with its certificate on a rigid bottle; at the start of each day."
	case rig.KindProof:
		return "boretight rig prove --gauge " + address + " --certificate RL-7.toml --bottle 50ml --bottle 100ml --bottle 250ml --bottle-u 0.5%",
			"A reference leak with its certificate on three rigid bottles."
	}
	return "", ""
}

// recordView is a record with all that it says.
func (s *Site) recordView(r rig.Record) recordView {
	u := s.shown()
	view := recordView{ID: r.ID, Title: capital(string(r.Kind)), Notes: r.Notes, From: u.moment(r.ValidFrom), Until: "no date due", Rig: strings.Join(partNames(r.Rig), ", ")}
	if !r.ValidUntil.IsZero() {
		view.Until = "until " + u.day(r.ValidUntil)
	}
	detail := func(name, format string, args ...any) {
		view.Details = append(view.Details, detailView{name, fmt.Sprintf(format, args...)})
	}
	switch {
	case r.Calibration != nil:
		c := r.Calibration
		m := written(c.Span.Value, expanded(c.Span.Value*c.SpanU()))
		view.Figure = "span × " + m.Value + " ± " + m.U
		detail("pairs", "%d at %d heights, from %s to %s", c.Pairs, c.Heights, u.signed(c.From), u.signed(c.To))
		detail("correction", "%s", strings.ReplaceAll(fmt.Sprintf("%s %+.5f × reading", u.signed(c.Line.Value(0)), c.Line.Slope), "-", "−"))
		detail("hysteresis", "%s", u.signed(c.Hysteresis))
		detail("repeatability", "%s", u.signed(c.Repeatability))
		detail("bent by", "%s", u.signed(c.Nonlinearity))
		view.Budget = rigBudget(c.Span)
		view.Notes = slices.Concat(view.Notes, c.Doubts)
	case r.Blank != nil:
		view.Title += " in " + r.Blank.Sign.String()
		view.Figure = u.throughputFigure(r.Blank.LeakRate.Measured)
		detail("stated at", "%s", u.pressure(r.Blank.At))
		detail("rig’s volume", "%s", volumeFigure(r.Blank.Volume))
		view.Budget = rigBudget(r.Blank.LeakRate)
	case r.Volume != nil:
		view.Title, view.Figure = "Volume of "+r.Joint, volumeFigure(r.Volume.Measured)
		detail("by", "%s", r.Volume.Method)
		detail("rig", "%s", map[bool]string{true: "included", false: "not included"}[r.Volume.RigIncluded])
		view.Budget = rigBudget(r.Volume.Result)
	case r.Check != nil:
		n := r.Check.Newest
		view.Title += " with " + r.Leak
		view.Figure = percentFigure(n.Deviation) + " off"
		view.Word, view.Class = string(r.Check.State), map[rig.Control]string{rig.InControl: "pass", rig.OutOfControl: "fail", rig.Unchecked: "inconclusive"}[r.Check.State]
		detail("measured", "%s", u.throughputFigure(n.Measured))
		detail("certified", "%s", u.throughputFigure(n.Stated))
		detail("says", "%s", r.Check.Says)
	case r.Proof != nil:
		view.Title += " with " + r.Leak
		worst, _ := r.Figure()
		view.Figure = "largest |En| " + fixed(worst.Value, 2)
		view.Word, view.Class = "not passed", "fail"
		if r.Proof.Passed {
			view.Word, view.Class = "passed", "pass"
		}
		for _, t := range r.Proof.Trials {
			detail("at "+plain(1e6*t.Volume.Value)+" ml", "%s off, En %.2f", percentFigure(t.Deviation), t.En)
		}
		for _, says := range r.Proof.Says {
			detail("says", "%s", says)
		}
	}
	return view
}

func percentFigure(d rig.Measured) string { return percentWithU(d.Value, d.U) }

// signed writes a pressure in Pa with its sign: corrections of gauges are some Pa.
func (u shown) signed(pa float64) string {
	return strings.Replace(fmt.Sprintf("%.4g Pa", pa), "-", "−", 1)
}

func (u shown) throughputFigure(q rig.Measured) string { return u.throughputWithU(q.Value, q.U, 0) }

// chartsOf are the control charts of checks, one a reference leak.
func (s *Site) chartsOf(records []rig.Record, n int) []chartView {
	var leaks []string
	checks := map[string][]rig.Record{}
	for _, r := range records {
		if r.Check == nil || r.Check.Spot == nil {
			continue
		}
		if checks[r.Leak] == nil {
			leaks = append(leaks, r.Leak)
		}
		checks[r.Leak] = append(checks[r.Leak], r)
	}
	var charts []chartView
	for k, leak := range leaks {
		all := checks[leak]
		slices.SortStableFunc(all, func(a, b rig.Record) int { return a.ValidFrom.Compare(b.ValidFrom) })
		all = all[max(0, len(all)-chartSpots):]
		chart := plot.Control{Title: "Checks with " + leak, Target: 100 * all[len(all)-1].Check.Chart.Target, Name: "off", Unit: "%"}
		for _, r := range all {
			spot := r.Check.Spot
			chart.Spots = append(chart.Spots, plot.Spot{
				At: r.ValidFrom.In(s.shown().location), Value: 100 * r.Check.Newest.Deviation.Value,
				Average: 100 * spot.Average, Low: 100 * spot.Low, High: 100 * spot.High, Out: spot.Out,
			})
		}
		svg, err := plot.SVG{ID: fmt.Sprintf("checks-%d-%d", n, k)}.Write(chart, plot.Size{Width: 760, Height: 260})
		if err != nil {
			s.logger.Warn("chart of the checks not drawn", "leak", leak, "error", err)
			continue
		}
		charts = append(charts, chartView{Leak: leak, Plot: template.HTML(svg), Says: all[len(all)-1].Check.Says})
	}
	return charts
}

// longHistory is one that is folded away: a check each day makes one in a month.
const longHistory = 20

// chartSpots are as many checks as a chart shows well.
const chartSpots = 60

// rigBudget makes bars of the budget of a figure of the rig.
func rigBudget(r rig.Result) []budgetLine {
	total := r.U * r.U
	if !(total > 0) {
		return nil
	}
	var lines []budgetLine
	for _, c := range r.Budget {
		share := c.U * c.U / total
		if share < smallestShare {
			continue
		}
		lines = append(lines, budgetLine{Source: c.Source, Share: percent(share), U: percent(c.URelative), Width: fixed(100*min(share, 1), 1)})
	}
	return lines
}
