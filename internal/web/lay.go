package web

import (
	"net/http"

	"boretight/internal/bench"
	"boretight/internal/config"
)

// layView is the page on which a joint is laid on the bench.
type layView struct {
	Frame  frame
	Form   *form
	Gauge  string
	Gauges []choice
	Joints []choice
	Whens  []choice
	Open   []layTicket
}

// layTicket is an open ticket with its stages, each of which can lie on the bench.
type layTicket struct {
	ID, Words string
	Stages    []Put
}

var whens = []choice{{config.AsFound, "as found, before the work"}, {config.AsLeft, "as left, after the work"}, {"", "neither"}}

// layPage asks what lies on the bench.
func (s *Site) layPage(w http.ResponseWriter, r *http.Request) {
	snapshot := s.bench.Snapshot()
	g := gaugeAsked(snapshot, r)
	on := g.Setup
	f := newForm("gauge", g.Name, "ticket", on.Ticket, "joint", on.Name(), "section", on.Section, "closure", on.Closure, "when", on.When)
	for _, field := range []string{"ticket", "joint", "section", "closure", "when"} {
		if r.URL.Query().Has(field) {
			f.values.Set(field, r.URL.Query().Get(field))
		}
	}
	s.renderLay(w, r, http.StatusOK, snapshot, f)
}

func (s *Site) renderLay(w http.ResponseWriter, r *http.Request, status int, snapshot bench.Snapshot, f *form) {
	view := layView{Frame: s.frame(r, "Put on the bench", "/"), Form: f, Gauge: f.Value("gauge"), Whens: whens}
	for _, g := range snapshot.Gauges {
		view.Gauges = append(view.Gauges, choice{g.Name, g.Name})
	}
	layable, err := s.desk.Layable(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return
	}
	for _, joint := range layable.Joints {
		view.Joints = append(view.Joints, choice{joint, joint})
	}
	for _, t := range layable.Tickets {
		view.Open = append(view.Open, layTicket(t))
	}
	s.renderAs(w, r, status, "lay.html", view)
}

// lay lays a joint on the bench.
func (s *Site) lay(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	gauge := f.Value("gauge")
	err := s.desk.Put(r.Context(), gauge, Put{
		Ticket: f.Value("ticket"), Joint: f.Value("joint"), Section: f.Value("section"), Closure: f.Value("closure"), When: f.Value("when"),
	})
	if err != nil && f.refuse(err) {
		s.renderLay(w, r, http.StatusUnprocessableEntity, s.bench.Snapshot(), f)
		return
	}
	s.answerForm(w, r, err, benchOf(gauge))
}

// Back is the bench with the gauge that the page was asked for.
func (v layView) Back() string { return benchOf(v.Gauge) }

// Words of the stage for a button.
func (p Put) Words() string { return stageWords(p) }
