package web

import (
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

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
}

// slipView is the slip as printed.
type slipView struct {
	printView
	Customer         string
	Opened, Finished string
	Work             []string
	More             int  // pieces of work for which there is no room
	Crowded          bool // many joints
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
	Unit     string // of all figures
	Joints   []printJoint
	Rules    []string
	At       string // "at 2.50 kPa suction", where that is so of all
	Date     string
	Measured bool
}

// printJoint is one line of figures.
type printJoint struct {
	Name        string
	Section     string
	Limit       string // number without its unit, or two; empty without one
	At          string // where joints differ in it
	Found, Left *printResult
}

// printResult is a trial's result as printed.
type printResult struct {
	Figure   *figureView
	Verdict  verdictView
	Interval string // without its unit
}

// slipLines is how many pieces of work a slip of one sheet has room for, less one and a half
// for each joint; leastWork are shown in any case, and with more than fewJoints the lines
// draw closer.
const (
	slipLines = 14
	leastWork = 2
	fewJoints = 3
)

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
	if most := max(leastWork, slipLines-3*len(view.Joints)/2); len(view.Work) > most {
		view.More = len(view.Work) - most
		view.Work = view.Work[:most]
	}
	view.Crowded = len(view.Joints) > fewJoints
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
	}
	if slip.Serial != "" {
		view.Made = strings.Join(present(view.Made, "serial "+slip.Serial), ", ")
	}
	var rules listing
	var ats []string
	for _, j := range slip.Joints {
		line := printJoint{Name: j.Joint, Section: j.Section}
		for _, side := range []struct {
			of   *TrialRecord
			into **printResult
		}{{j.Found, &line.Found}, {j.Left, &line.Left}} {
			if side.of == nil {
				continue
			}
			*side.into = u.printResult(*side.of)
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
	return view, nil
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
	result := &printResult{Figure: u.ofTrial(&t.Result, t.Ambient), Verdict: u.verdictOf(t.Result.Verdict, t.Result.Decision, t.Result.LeakRate, t.Result.LeakRate != nil, t.Ambient)}
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
