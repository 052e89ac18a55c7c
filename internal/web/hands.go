package web

import (
	"net/http"
	"net/url"
	"strings"
)

// What is done at the bench while joints are measured: lay one on, step on. The page's script sends the same forms as a page without it, and asks for JSON.

// stepOn steps on to the next stage of the visit. A hold in progress still counts for what
// lay on the bench at its beginning.
func (s *Site) stepOn(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	_, err := s.desk.Step(r.Context(), f.Value("gauge"))
	s.answerForm(w, r, err, benchOf(f.Value("gauge")))
}

// inHold says that a gauge is in the middle of a hold, which what is asked for would cut.
func (s *Site) inHold(gauge string) string {
	for _, g := range s.bench.Snapshot().Gauges {
		if (gauge == "" || g.Name == gauge) && (g.Phase == "drawing" || g.Phase == "settling" || g.Phase == "holding") {
			return "in the middle of a hold nothing is changed: vent first"
		}
	}
	return ""
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
	for _, says := range f.faults {
		all = append(all, says)
	}
	return strings.Join(all, "; ")
}

// notDone is the page of what could not be done.
func (s *Site) notDone(w http.ResponseWriter, r *http.Request, says string) {
	s.renderAs(w, r, http.StatusUnprocessableEntity, "notdone.html", struct {
		Frame frame
		Says  string
	}{s.frame(r, "not done", "/"), says})
}
