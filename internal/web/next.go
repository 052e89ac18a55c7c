package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/trial"
)

// nextView is the next thing to do, in a line, with what can be done about it.
type nextView struct {
	Gauge string
	Says  string
	Step  string // what stepping on leads to; empty when there is nothing to step on to
	To    Put    // the stage that it leads to
	Enough,
	CanLay bool
	Links []link
	Void  *settable // the hold that may be set aside
}

// settable is a hold that may be set aside, in words.
type settable struct{ ID, Words string }

// nextPart is the next thing as the page shows it, for its script.
func (s *Site) nextPart(w http.ResponseWriter, r *http.Request) {
	snapshot := s.bench.Snapshot()
	s.render(w, r, "next", s.nextView(r.Context(), snapshot, gaugeAsked(snapshot, r)))
}

func (s *Site) nextView(ctx context.Context, snapshot bench.Snapshot, g bench.GaugeState) nextView {
	view := nextView{Gauge: g.Name, CanLay: s.desk != nil, Void: s.voidable(snapshot, g)}
	var ahead Ahead
	if s.desk != nil && g.Name != "" {
		var err error
		if ahead, err = s.desk.Ahead(ctx, g.Name); err != nil {
			s.logger.Warn("cannot see what lies ahead", "gauge", g.Name, "error", err)
		}
	}
	if ahead.Next != nil {
		view.Step, view.To = stageWords(*ahead.Next), *ahead.Next
	}
	view.Links = links(g.Setup, ahead)
	wanted, count := s.house().wanted(), 0
	if g.Trial != nil {
		count = g.Trial.Holds
	}
	view.Enough = count >= wanted
	view.Says = says(g.Setup, ahead, count, wanted, g.Trial)
	return view
}

// says is the next thing to do in a line.
func says(on bench.Setup, ahead Ahead, count, wanted int, t *trial.Trial) string {
	switch {
	case on.Joint == "" && on.Instrument == "":
		return "Holds are kept, but nobody knows of what: put a joint on the bench, or take an instrument in."
	case count < wanted:
		return fmt.Sprintf("Hold %d of %d.", count+1, wanted)
	case t.Verdict == trial.Inconclusive && t.Decision != nil && t.Decision.Next != "":
		return fmt.Sprintf("%d holds, and still inconclusive. To settle it: %s.", count, t.Decision.Next)
	case ahead.Next != nil && ahead.Next.When == config.AsLeft && on.When == config.AsFound:
		return "All is measured as found. Do the work, note it on the ticket, then step on."
	case ahead.Next != nil:
		return "Enough holds: step on."
	case ahead.Known:
		return "All is measured: compare as found with as left, and print the slip."
	}
	return "Enough holds: put the next joint on the bench."
}

// links lead to what belongs to the visit on the bench.
func links(on bench.Setup, ahead Ahead) []link {
	if !ahead.Known {
		return nil
	}
	to := "/tickets/" + url.PathEscape(on.Ticket)
	return []link{{to, "Ticket " + on.Ticket}, {"/print/slip/" + url.PathEscape(on.Ticket), "Slip"}}
}

// stageWords names what lies on the bench next.
func stageWords(p Put) string {
	return strings.Join(present(strings.ReplaceAll(p.Joint, "/", " "), whenWords(p.When)), ", ")
}

// voidable is the newest hold of a gauge that may be set aside: one that is in the ledger.
func (s *Site) voidable(snapshot bench.Snapshot, g bench.GaugeState) *settable {
	for _, h := range snapshot.Holds {
		if h.Gauge != g.Name || h.Voided != "" {
			continue
		}
		if s.desk == nil || h.Unrecorded != "" || h.ID == "" {
			return nil
		}
		view := s.holdView(h, scale{})
		words := strings.Join(present("hold of "+view.Time, view.Of), ", ") + ": " + view.Verdict.Word
		if f := view.Figure; f != nil {
			words += ", " + f.Value + " ± " + f.U + " " + f.Unit
		}
		return &settable{ID: h.ID, Words: words}
	}
	return nil
}
