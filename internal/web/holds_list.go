package web

import (
	"net/http"
	"net/url"
	"strings"

	"boretight/internal/bench"
)

// listLength is how many entries a page of a list shows.
const listLength = 25

// Filters of the lists of holds and trials.
var (
	verdictChoices = []choice{{"", "any verdict"}, {"pass", "pass"}, {"fail", "fail"}, {"inconclusive", "inconclusive"}}
	whenChoices    = []choice{{"", "found or left"}, {"as_found", "as found"}, {"as_left", "as left"}}
)

// listing is what the pages of holds and of trials have in common: the form that asks,
// and the way to older entries.
type listing struct {
	Path     string
	Form     *form
	Verdicts []choice
	Whens    []choice
	// Asked tells that not all are listed.
	Asked bool
	// Newest and Older are addresses; empty where there is nothing to go to.
	Newest, Older string
	Rules         []string // the decision rules behind the verdicts listed
}

// asked reads what a list is asked for. What is not among the choices asks for nothing.
func asked(r *http.Request) (Sought, *form) {
	f := &form{values: r.URL.Query()}
	of := Sought{
		Words:   f.Value("words"),
		Verdict: among(verdictChoices, f.Value("verdict")),
		When:    among(whenChoices, f.Value("when")),
		Before:  f.Value("before"),
		Limit:   listLength + 1, // one more tells whether there is an older page
	}
	return of, f
}

func among(choices []choice, value string) string {
	for _, c := range choices {
		if c.Value == value {
			return value
		}
	}
	return ""
}

// newListing begins the view of a list; last is the entry after which an older page begins,
// empty on the last page.
func newListing(path string, of Sought, f *form, last string) listing {
	l := listing{
		Path: path, Form: f, Verdicts: verdictChoices, Whens: whenChoices,
		Asked: of.Words != "" || of.Verdict != "" || of.When != "",
	}
	if of.Before != "" {
		l.Newest = of.address(path, "")
	}
	if last != "" {
		l.Older = of.address(path, last)
	}
	return l
}

// address is that of the list that begins after an entry.
func (of Sought) address(path, before string) string {
	q := url.Values{}
	for name, value := range map[string]string{"words": of.Words, "verdict": of.Verdict, "when": of.When, "before": before} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// holdListView is the page that lists holds.
type holdListView struct {
	Frame frame
	List  listing
	Holds []holdRow
}

// holdRow is a hold in the list.
type holdRow struct {
	holdView
	Subject subjectView
	Aside   string // why it does not count; empty where it does
	Unended bool   // it has no result: it is being measured, or was interrupted
}

// subjectView is what was held, for people.
type subjectView struct {
	Joint   string // "oboe, upper joint"
	Section string
	Closure string
	When    string // as found, as left
	Ticket  string
}

func subjectOf(on bench.Setup) subjectView {
	return subjectView{
		Joint: strings.Join(present(on.Instrument, on.Joint), ", "), Section: on.Section, Closure: on.Closure,
		When: strings.ReplaceAll(on.When, "_", " "), Ticket: on.Ticket,
	}
}

// Words is all of it in one line.
func (v subjectView) Words() string {
	return strings.Join(present(v.Joint, v.Section, v.Closure, v.When), ", ")
}

func (s *Site) holdList(w http.ResponseWriter, r *http.Request, records Records) {
	of, f := asked(r)
	holds, err := records.ListHolds(r.Context(), of)
	if err != nil {
		s.recordFault(w, r, err)
		return
	}
	last := ""
	if len(holds) > listLength {
		holds = holds[:listLength]
		last = holds[listLength-1].ID
	}
	view := holdListView{Frame: s.frame(r, "Holds", "/holds", "records.css"), List: newListing("/holds", of, f, last)}
	for _, hold := range holds {
		row := holdRow{holdView: s.holdView(hold, scale{}), Subject: subjectOf(hold.On), Aside: hold.Voided}
		row.standing(hold)
		row.Time, row.Unended = s.shown().moment(hold.Ended), hold.Unended != ""
		view.Holds = append(view.Holds, row)
		view.List.rule(row.Verdict.Rule)
	}
	s.render(w, r, "holdlist.html", view)
}

// rule notes the rule behind a verdict that is listed, each once.
func (l *listing) rule(text string) {
	for _, known := range l.Rules {
		if known == text {
			return
		}
	}
	if text != "" {
		l.Rules = append(l.Rules, text)
	}
}
