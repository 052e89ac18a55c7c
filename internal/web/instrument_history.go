package web

import (
	"cmp"
	"slices"
	"strings"

	"boretight/internal/catalog"
	"boretight/internal/config"
	"boretight/internal/plot"
	"boretight/internal/ticket"
)

// history puts the trials of an instrument's visits, newest visit first, to its joints.
type history struct {
	site   *Site
	of     catalog.Instrument
	joints []jointHistory
	rules  []string
	at     map[string]int // place of a joint, by its name
}

func newHistory(s *Site, of catalog.Instrument) *history {
	return &history{site: s, of: of, at: map[string]int{}}
}

// inTurn puts the joints in the order of the catalogue.
func (h *history) inTurn() []jointHistory {
	place := func(j jointHistory) int {
		return slices.IndexFunc(h.of.Joints, func(known catalog.Joint) bool { return known.Name == j.Name })
	}
	slices.SortStableFunc(h.joints, func(a, b jointHistory) int { return cmp.Compare(place(a), place(b)) })
	for i := range h.joints {
		h.joints[i].draw(h.site.shown())
	}
	return h.joints
}

// draw draws the trials that can be set against the newest one: of one section, closure and
// sign. Fewer than two show no course.
func (j *jointHistory) draw(u shown) {
	newest := j.Points[0]
	t := plot.Trend{Title: "What the " + j.Title + " leaked from visit to visit", Unit: u.flowSymbol()}
	for _, p := range j.Points {
		r := p.record.Result
		e, ok := u.flow(r.LeakRate, r.SCCM, p.record.Ambient)
		if !ok || p.What != newest.What {
			continue
		}
		figure := u.ofTrial(&r, p.record.Ambient)
		t.Seen = append(t.Seen, plot.Seen{
			Outcome: plot.Outcome{
				Value: e.Value, Low: e.Low, High: e.High, Written: figure.Value + " ± " + figure.U, Verdict: verdictInk(r.Verdict),
			},
			At: p.record.At.In(u.location), Visit: p.Ticket, Left: p.record.When == config.AsLeft,
		})
		if t.Limit == 0 {
			t.Limit = u.rateLimit(r.Decision, p.record.Ambient)
		}
	}
	if len(t.Seen) < 2 {
		return
	}
	j.Trend, j.Drawn = drawn("trend-"+filename(j.Name), t, 260, 240), newest.What
}

// add takes the trials of one visit, the last changed first.
func (h *history) add(t ticket.Ticket, trials []TrialRecord) {
	for _, e := range trials {
		if len(e.Holds) == 0 {
			continue
		}
		k, known := h.at[e.Joint]
		if !known {
			k = len(h.joints)
			h.at[e.Joint] = k
			h.joints = append(h.joints, jointHistory{Name: e.Joint, Title: jointTitle(h.of, e.Joint)})
		}
		if d := e.Result.Decision; d != nil && !slices.Contains(h.rules, d.Rule) {
			h.rules = append(h.rules, d.Rule)
		}
		h.joints[k].Points = append(h.joints[k].Points, historyPoint{
			record: e, Ticket: t.ID, When: whenWords(e.When), Side: h.site.trialIn(e), Stamp: e.At.UTC().Format(stampOfDay),
			What: strings.Join(present(e.Section, e.Closure, e.Result.Sign), ", "),
		})
	}
}
