package web

import (
	"net/http"
	"net/url"
	"strings"
)

// voidView is the form that sets a hold aside.
type voidView struct {
	Hold    string
	Form    *form
	Reasons []choice
}

// other is the reason that must be put into words.
const other = "other"

// voidReasons are why holds go wrong at a bench. Common practice, no source.
var voidReasons = []choice{
	{"bumped", "Bumped"},
	{"finger slipped", "Finger slipped"},
	{"stopper or hose not tight", "Stopper or hose not tight"},
	{"wrong joint or closure", "Wrong joint or closure"},
	{"key moved", "Key moved"},
	{other, "Other: say what"},
}

func newVoidView(hold string, f *form) *voidView {
	return &voidView{Hold: hold, Form: f, Reasons: voidReasons}
}

// longestReason in bytes keeps a page, and what prints it, readable.
const longestReason = 500

// reasonOf puts choice and words into one reason, or notes what is wrong with them.
func reasonOf(f *form) string {
	chosen, said := f.Value("reason"), strings.Join(strings.Fields(f.Value("words")), " ")
	switch {
	case among(voidReasons, chosen) == "":
		f.fault("reason", "Choose what went wrong: a hold is not set aside without a reason.")
	case chosen == other && said == "":
		f.fault("words", "Say what went wrong, in a few words.")
	case len(said) > longestReason:
		f.fault("words", "Say it in fewer words.")
	case chosen == other:
		return said
	case said != "":
		return chosen + ": " + said
	}
	return chosen
}

// voidHold sets a hold aside. The bench's script asks for JSON and stays where it is.
func (s *Site) voidHold(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	reason := reasonOf(f)
	if asksJSON(r) { // the bench, which goes nowhere
		err := error(&Fault{Says: f.words()})
		if !f.Any() {
			err = s.desk.Void(r.Context(), r.PathValue("id"), reason)
		}
		s.answerForm(w, r, err, "")
		return
	}
	whole, err := s.wholeHold(r)
	if err != nil {
		s.recordFault(w, r, err)
		return
	}
	switch {
	case whole.Aside != nil:
		f.Whole = "This hold was set aside before, and a hold is set aside once."
	case !f.Any():
		err := s.desk.Void(r.Context(), whole.ID, reason)
		if err == nil || !f.refuse(err) {
			s.answerForm(w, r, err, "/holds/"+url.PathEscape(whole.ID))
			return
		}
	}
	view := s.holdPageView(r, whole, f)
	view.Refused = f.Whole
	s.renderAs(w, r, http.StatusUnprocessableEntity, "hold.html", view)
}
