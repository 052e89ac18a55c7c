package web

import (
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"boretight/internal/bench"
)

// What is done at the bench while joints are measured: put one on it, step on. The page's
// script sends the same forms as a page without it, and asks for JSON.

// stepOn steps on to the next stage of the visit. A hold in progress still counts for what
// lay on the bench at its beginning.
func (s *Site) stepOn(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	if s.liesThere(f.Value("gauge"), f.Value("joint"), f.Value("when")) {
		s.answerForm(w, r, nil, benchOf(f.Value("gauge"))) // pressed twice
		return
	}
	_, err := s.desk.Step(r.Context(), f.Value("gauge"))
	if errors.Is(err, bench.ErrNoGauge) {
		err = &Fault{Says: fmt.Sprintf("The bench has no gauge %s.", quoteShort(f.Value("gauge")))}
	}
	s.answerForm(w, r, err, benchOf(f.Value("gauge")))
}

// liesThere reports whether the stage that a form leads to lies on the bench already.
func (s *Site) liesThere(gauge, joint, when string) bool {
	return joint != "" && slices.ContainsFunc(s.bench.Snapshot().Gauges, func(g bench.GaugeState) bool {
		return g.Name == gauge && g.Setup.Name() == joint && g.Setup.When == when
	})
}

func benchOf(gauge string) string {
	if gauge == "" {
		return "/"
	}
	return "/?gauge=" + url.QueryEscape(gauge)
}

// answerForm answers a form of the bench: goes on to a page, or for the page's script says
// in JSON what came of it.
func (s *Site) answerForm(w http.ResponseWriter, r *http.Request, err error, to string) {
	f := &form{}
	refused := f.refuse(err)
	script := asksJSON(r)
	switch {
	case err == nil && script:
		w.WriteHeader(http.StatusNoContent)
	case err == nil:
		http.Redirect(w, r, to, http.StatusSeeOther)
	case !refused:
		s.fault(w, r, err)
	case script:
		refuse(w, http.StatusUnprocessableEntity, "not_done", f.words())
	default:
		s.notDone(w, r, f.words())
	}
}

// asksJSON reports whether a page's script sent the form.
func asksJSON(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept"), "application/json")
}

// words of all that is wrong with a form, in one sentence.
func (f *form) words() string {
	var all []string
	if f.Whole != "" {
		all = append(all, f.Whole)
	}
	for _, field := range slices.Sorted(maps.Keys(f.faults)) {
		all = append(all, f.faults[field])
	}
	return strings.Join(all, "; ")
}

// notDoneView is the page of what could not be done.
type notDoneView struct {
	Frame frame
	Says  string
}

func (s *Site) notDoneView(r *http.Request, says string) notDoneView {
	return notDoneView{s.frame(r, "not done", "/"), says}
}

// notDone answers that something could not be done.
func (s *Site) notDone(w http.ResponseWriter, r *http.Request, says string) {
	s.renderAs(w, r, http.StatusUnprocessableEntity, "notdone.html", s.notDoneView(r, says))
}
