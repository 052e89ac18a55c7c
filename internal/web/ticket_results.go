package web

import (
	"cmp"
	"context"
	"errors"
	"net/url"
	"slices"
	"strings"

	"boretight/internal/catalog"
	"boretight/internal/config"
	"boretight/internal/ledger"
	"boretight/internal/ticket"
	"boretight/internal/trial"
)

// ticketJoint is a joint of a ticket with all that was measured of it.
type ticketJoint struct {
	Name, Title, Of string // upper, Upper joint, INSTRUMENT/upper
	Results         []ticketResult
	Untaken         bool // it is not among the ticket's joints, but was measured
}

// ticketResult is a joint in one closure as found and as left.
type ticketResult struct {
	What     string // section, closure and sign; empty before anything was measured
	Limit    string // where both sides were judged by the same
	Sides    [2]*ticketStage
	Improved *ticketChange
	Compare  string // address of the comparison; empty without
}

// ticketStage is one of the two sides: what was measured, and what is put on the bench to
// measure it.
type ticketStage struct {
	Words string // as found, as left
	Put   Put
	Title string // of the joint
	// Trial is nil while there is none.
	Trial *ticketTrial
}

// ticketTrial is a trial in a ticket.
type ticketTrial struct {
	ID, Holds, Day string
	Limit          string // where the sides differ
	Aside          bool   // all its holds were set aside: nothing was measured
	View           *trialView
}

// ticketChange says how many times tighter the joint is.
type ticketChange struct {
	Times, Says, Interval string
}

// lacks returns the stage when it is still to be measured.
func (j ticketJoint) lacks(when string) *ticketStage {
	for i := range j.Results {
		for _, side := range j.Results[i].Sides {
			if side.Put.When == when && side.Trial != nil && !side.Trial.Aside {
				return nil
			}
		}
	}
	for i := range j.Results {
		for k := range j.Results[i].Sides {
			if j.Results[i].Sides[k].Put.When == when {
				return j.Results[i].Sides[k]
			}
		}
	}
	return nil
}

// heldAs is what holds must have in common to be set against each other.
type heldAs struct{ of, section, closure, sign string }

// ticketJoints puts the trials of a ticket to its joints, and returns the decision rules
// behind their verdicts, each once.
func (s *Site) ticketJoints(ctx context.Context, shelf TicketShelf, t ticket.Ticket, of catalog.Instrument, trials []TrialRecord) (joints []ticketJoint, rules []string) {
	for _, name := range t.Joints {
		joints = append(joints, ticketJoint{Name: name, Title: jointTitle(of, name), Of: t.Instrument.Template + "/" + name})
	}
	sides := map[heldAs]map[string]*TrialRecord{}
	var order []heldAs
	for i := range trials { // the last changed comes first, and counts
		e := &trials[i]
		if e.When == "" || len(e.Holds) == 0 {
			continue
		}
		as := heldAs{e.Of, e.Section, e.Closure, e.Result.Sign}
		if sides[as] == nil {
			sides[as] = map[string]*TrialRecord{}
			order = append(order, as)
		}
		if sides[as][e.When] == nil {
			sides[as][e.When] = e
		}
		if !slices.ContainsFunc(joints, func(j ticketJoint) bool { return j.Of == e.Of }) {
			joints = append(joints, ticketJoint{Name: e.Joint, Title: strings.ReplaceAll(e.Of, "/", ", "), Of: e.Of, Untaken: true})
		}
		if d := e.Result.Decision; d != nil && !slices.Contains(rules, d.Rule) {
			rules = append(rules, d.Rule)
		}
	}
	slices.Reverse(order) // what was measured first comes first
	for i := range joints {
		j := &joints[i]
		for _, as := range order {
			if as.of == j.Of {
				j.Results = append(j.Results, s.resultIn(ctx, shelf, t, *j, as, sides[as]))
			}
		}
		if len(j.Results) == 0 {
			j.Results = []ticketResult{s.resultIn(ctx, shelf, t, *j, heldAs{of: j.Of}, nil)}
			j.Results[0].What = ""
		}
	}
	return joints, rules
}

func (s *Site) resultIn(ctx context.Context, shelf TicketShelf, t ticket.Ticket, j ticketJoint, as heldAs, sides map[string]*TrialRecord) ticketResult {
	view := ticketResult{What: strings.Join(present(as.section, as.closure, as.sign), ", ")}
	for i, when := range []string{config.AsFound, config.AsLeft} {
		view.Sides[i] = &ticketStage{
			Words: whenWords(when), Title: j.Title,
			Put: Put{Ticket: t.ID, Joint: j.Of, Section: as.section, Closure: as.closure, When: when},
		}
		if e := sides[when]; e != nil {
			view.Sides[i].Trial = s.trialIn(*e)
		}
	}
	found, left := view.Sides[0].Trial, view.Sides[1].Trial
	switch {
	case found == nil && left == nil:
	case found == nil || left == nil || found.Limit == left.Limit:
		if found != nil {
			view.Limit = found.Limit
			found.Limit = ""
		}
		if left != nil {
			view.Limit = cmp.Or(view.Limit, left.Limit)
			left.Limit = ""
		}
	}
	if found != nil && left != nil {
		view.Improved, view.Compare = s.improved(ctx, shelf, sides[config.AsFound].Trial, sides[config.AsLeft].Trial)
	}
	return view
}

func (s *Site) trialIn(e TrialRecord) *ticketTrial {
	u := s.shown()
	side := &ticketTrial{ID: e.ID, Holds: counting(len(e.Holds), "hold"), Day: u.day(e.At), View: u.trialView(&e.Result, e.Ambient)}
	if used := e.Result.Used; used != len(e.Holds) && side.View != nil {
		side.Holds += ", " + fixed(float64(used), 0) + " used"
	}
	if side.View == nil {
		side.Aside = true
		side.View = &trialView{Verdict: verdictView{Word: "no result", Class: "none"}, Notes: e.Result.Notes}
		return side
	}
	if d := e.Result.Decision; d != nil {
		side.Limit = side.View.Verdict.Limit + " at " + u.pressure(e.Result.At)
	}
	return side
}

// improved sets both sides against each other. What cannot be compared says why in place
// of the ratio.
func (s *Site) improved(ctx context.Context, shelf TicketShelf, found, left ledger.Trial) (*ticketChange, string) {
	c, err := shelf.Improved(ctx, found, left)
	if err != nil {
		return s.uncompared(found.ID+" and "+left.ID, err), ""
	}
	return improvedWords(c), "/compare?" + url.Values{"found": {found.ID}, "left": {left.ID}}.Encode()
}

// uncompared says in place of a ratio why there is none. What should not have happened is
// logged.
func (s *Site) uncompared(what string, err error) *ticketChange {
	switch {
	case errors.Is(err, trial.ErrNoRate):
		return &ticketChange{Says: "no ratio: one side has no leakage rate"}
	case errors.Is(err, trial.ErrUnlike):
		return &ticketChange{Says: "no ratio: the two were not measured alike"}
	}
	s.logger.Warn("trials not compared", "of", what, "error", err)
	return &ticketChange{Says: "no ratio: the two trials could not be compared"}
}

// improvedWords says a ratio with its interval. A change is shown when the interval of the
// difference leaves out 0.
func improvedWords(c trial.Comparison) *ticketChange {
	r := c.Ratio
	switch {
	case r != nil && c.Difference.Low <= 0 && c.Difference.High >= 0:
		return &ticketChange{Says: "no change is shown", Interval: ratioInterval(*r)}
	case r == nil:
		return &ticketChange{Says: "no ratio: as found it leaked too little to tell"}
	case r.Value == nil || r.High == nil:
		return &ticketChange{Times: "≥ " + times(r.Low), Says: "times tighter", Interval: "95 % one-sided: as left may be nothing"}
	case *r.High < 1 && *r.Value > 0:
		return &ticketChange{Times: times(1 / *r.Value), Says: "times leakier", Interval: ratioInterval(trial.Ratio{Low: 1 / *r.High, High: inverse(r.Low)})}
	}
	return &ticketChange{Times: times(*r.Value), Says: "times tighter", Interval: ratioInterval(*r)}
}

func ratioInterval(r trial.Ratio) string {
	if r.High == nil {
		return "95 % interval from " + times(r.Low)
	}
	return "95 % interval " + times(r.Low) + " to " + times(*r.High)
}

func inverse(x float64) *float64 {
	if x <= 0 {
		return nil
	}
	x = 1 / x
	return &x
}

// times is a factor to three digits, or whole.
func times(x float64) string {
	switch {
	case x >= 100:
		return fixed(x, 0)
	case x >= 10:
		return fixed(x, 1)
	}
	return fixed(x, 2)
}
