package web

import (
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"boretight/internal/trial"
)

// Slip is what a visit came to: what is printed for the customer.
type Slip struct {
	Ticket         string
	Opened, Closed time.Time // zero when not known, or not yet
	Instrument     string    // as the catalogue names it
	Maker, Model   string
	Serial         string
	Customer       string
	Work           []SlipWork // oldest first
	Remark         string
	Joints         []SlipJoint
}

// SlipWork is a piece of work done.
type SlipWork struct{ Joint, Seat, Did string }

// SlipJoint is what was held apart, as found and as left; either may be nil.
type SlipJoint struct {
	Joint, Section, Closure string
	Found, Left             *TrialRecord
	// Change is nil where there are not both, or Uncompared says why they tell no ratio.
	Change     *trial.Comparison
	Uncompared error
}

// slipView is the slip as printed.
type slipView struct {
	printView
	Customer         string
	Opened, Finished string
	Work             []string
	More             int  // pieces of work for which there is no room
	Crowded, Packed  bool // many joints, very many
	Remark           string
}

// printView is what slip and label have in common.
type printView struct {
	Title    string
	House    House
	Ticket   string
	QR       template.HTML
	What     string // "oboe"
	Made     string // "Maker Model, serial 123"
	Serial   string
	Which    string // "oboe, Maker Model"
	Unit     string // of all figures
	Joints   []printJoint
	Rules    []string
	At       string // "at 2.50 kPa suction", where that is so of all
	Date     string
	Measured bool
	// Reserved is what every figure is under; Marks are what only some are.
	Reserved []string
	Marks    []reservedMark
}

// printJoint is one line of figures.
type printJoint struct {
	Name        string
	Section     string
	Limit       string // number without its unit, or two; empty without one
	At          string // where joints differ in it
	Found, Left *printResult
	Change      string // a sentence; empty where there are not both
}

// printResult is a trial's result as printed.
type printResult struct {
	Figure   *figureView
	Verdict  verdictView
	Interval string // without its unit
	Marks    string // letters of the reservations that not all figures are under
	reserved []string
}

// A slip of one sheet has room for slipLines of work beside one joint, and each further
// joint takes jointLines of them; a piece of work that has more than lineLength characters
// takes two. leastWork are shown in any case. With more than fewJoints the lines draw closer
// and each piece of work has one, with more than manyJoints all else draws closer as well.
const (
	slipLines  = 10
	jointLines = 5
	lineLength = 70
	leastWork  = 2
	fewJoints  = 3
	manyJoints = 4
)

// roomFor returns how many of the pieces of work a slip has room for.
func roomFor(work []string, joints int) int {
	lines := slipLines - jointLines*(max(joints, 1)-1)
	if joints > fewJoints {
		lines = slipLines + 2 - 2*joints
	}
	for i, what := range work {
		lines--
		if joints <= fewJoints && utf8.RuneCountInString(what) > lineLength {
			lines--
		}
		if lines < 0 {
			return max(i, min(leastWork, len(work)))
		}
	}
	return len(work)
}

func (s *Site) slipPage(w http.ResponseWriter, r *http.Request, records Records) {
	slip, err := records.SlipOf(r.Context(), r.PathValue("ticket"))
	if err != nil {
		s.recordFault(w, r, err)
		return
	}
	u := s.shown()
	view := slipView{
		Customer: slip.Customer, Opened: u.day(slip.Opened), Finished: u.day(slip.Closed), Remark: slip.Remark,
	}
	if view.printView, err = s.printView(slip); err != nil {
		s.fault(w, r, err)
		return
	}
	view.Title = "Slip of ticket " + slip.Ticket
	for _, work := range slip.Work {
		what := strings.Join(present(strings.Join(present(work.Joint, work.Seat), " "), work.Did), ": ")
		view.Work = append(view.Work, what)
	}
	if most := roomFor(view.Work, len(view.Joints)); len(view.Work) > most {
		view.More = len(view.Work) - most
		view.Work = view.Work[:most]
	}
	view.Crowded, view.Packed = len(view.Joints) > fewJoints, len(view.Joints) > manyJoints
	s.render(w, r, "printslip.html", view)
}

func (s *Site) printView(slip Slip) (printView, error) {
	u := s.shown()
	code, err := qrCode(slip.Ticket)
	if err != nil {
		return printView{}, err
	}
	view := printView{
		House: s.house(), Ticket: slip.Ticket, QR: code, What: slip.Instrument,
		Made: strings.Join(present(slip.Maker, slip.Model), " "), Unit: u.flowSymbol(), Date: u.day(lastOf(slip)),
		Serial: slip.Serial,
	}
	view.Which = strings.Join(present(view.What, view.Made), ", ")
	if slip.Serial != "" {
		view.Made = strings.Join(present(view.Made, "serial "+slip.Serial), ", ")
	}
	var rules listing
	var ats []string
	var results []*printResult
	for _, j := range slip.Joints {
		line := printJoint{Name: j.Joint, Section: j.Section, Change: s.printedChange(slip.Ticket, j)}
		for _, side := range []struct {
			of   *TrialRecord
			into **printResult
		}{{j.Found, &line.Found}, {j.Left, &line.Left}} {
			if side.of == nil {
				continue
			}
			*side.into = u.printResult(*side.of)
			results = append(results, *side.into)
			view.Measured = true
			rules.rule((*side.into).Verdict.Rule)
		}
		line.Limit, line.At = u.printedLimit(j), u.printedAt(j)
		ats = append(ats, line.At)
		view.Joints = append(view.Joints, line)
	}
	if len(slices.Compact(slices.Clone(ats))) == 1 {
		view.At = ats[0]
		for i := range view.Joints {
			view.Joints[i].At = ""
		}
	}
	view.Rules = rules.Rules
	view.reserve(results)
	return view, nil
}

// printedChange says how many times tighter a joint is, or why that cannot be told.
func (s *Site) printedChange(ticket string, j SlipJoint) string {
	var change *ticketChange
	switch {
	case j.Change != nil:
		change = improvedWords(*j.Change)
	case j.Uncompared != nil:
		change = s.uncompared(ticket+", "+j.Joint, j.Uncompared)
	default:
		return ""
	}
	says := strings.Join(present(change.Times, change.Says), " ")
	return capital(strings.Join(present(says, change.Interval), ", ")) + "."
}

// lastOf is the day that a slip speaks of: when the visit was closed, else when it was last
// measured.
func lastOf(slip Slip) time.Time {
	if !slip.Closed.IsZero() {
		return slip.Closed
	}
	last := slip.Opened
	for _, j := range slip.Joints {
		for _, t := range []*TrialRecord{j.Found, j.Left} {
			if t != nil && t.At.After(last) {
				last = t.At
			}
		}
	}
	return last
}

func (u shown) printResult(t TrialRecord) *printResult {
	result := &printResult{reserved: reservationsOf(t.Result), Figure: u.ofTrial(&t.Result, t.Ambient), Verdict: u.verdictOf(t.Result.Verdict, t.Result.Decision, t.Result.LeakRate, t.Result.LeakRate != nil, t.Ambient)}
	if f := result.Figure; f != nil {
		result.Interval = strings.TrimSuffix(f.Interval, " "+f.Unit)
	}
	return result
}

// printedLimit is the limit of a joint; where each side was judged by its own, that as found
// and that as left.
func (u shown) printedLimit(j SlipJoint) string {
	return ofSides(j, " / ", func(t *TrialRecord) string {
		if d := t.Result.Decision; d != nil {
			return u.limitNumber(d, t.Ambient)
		}
		return "none"
	})
}

// printedAt says how a joint was held, or each side.
func (u shown) printedAt(j SlipJoint) string {
	return ofSides(j, ", then ", func(t *TrialRecord) string {
		if t.Result.At == 0 {
			return ""
		}
		return "at " + strings.Join(present(u.pressure(t.Result.At), t.Result.Sign), " ")
	})
}

// ofSides is what is said of both sides of a joint, once where it is the same.
func ofSides(j SlipJoint, between string, says func(*TrialRecord) string) string {
	var all []string
	for _, side := range []*TrialRecord{j.Found, j.Left} {
		if side != nil {
			all = append(all, says(side))
		}
	}
	all = slices.Compact(all)
	if len(all) == 1 && all[0] == "none" {
		return ""
	}
	return strings.Join(present(all...), between)
}

// limitNumber is a limit without its unit, which stands above the column.
func (u shown) limitNumber(d *trial.Decision, ambient float64) string {
	return strings.TrimSuffix(u.limit(d, ambient), " "+u.flowSymbol())
}
