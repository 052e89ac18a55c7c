package web

import (
	"cmp"
	"slices"
	"strings"

	"boretight/internal/catalog"
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
	return h.joints
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
			Ticket: t.ID, When: whenWords(e.When), Side: h.site.trialIn(e), Stamp: e.At.UTC().Format(stampOfDay),
			What: strings.Join(present(e.Section, e.Closure, e.Result.Sign), ", "),
		})
	}
}
