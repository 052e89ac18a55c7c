package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/catalog"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

// LimitDesk is what pages may do with the shop's limits. A [Desk] that is one too is used
// as one.
type LimitDesk interface {
	// Limits returns the limits in force.
	Limits(ctx context.Context) ([]ledger.Limit, error)
	// SetLimit records what the shop accepts from now on. Identity and time are given to it.
	SetLimit(ctx context.Context, l ledger.Limit) error
	// ProposeLimit works a limit out of the shop's own passed joints. Its error is a
	// sentence for people where there are too few of them: a [*Fault].
	ProposeLimit(ctx context.Context, of ledger.Limit) (ProposedLimit, error)
}

// ProposedLimit is what a shop's own passed joints suggest.
type ProposedLimit struct {
	trial.Proposal
	// Of is what it is of; its closure is that of the trials.
	Of ledger.Limit
}

func (s *Site) limitRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /limits", s.limitsPage)
	mux.HandleFunc("POST /limits", s.onlyLooks(s.setLimit))
}

func (s *Site) limitDesk() (LimitDesk, bool) {
	desk, ok := s.desk.(LimitDesk)
	return desk, ok
}

// limitsNow are the shop's limits; none where they cannot be asked for.
func (s *Site) limitsNow(ctx context.Context) ([]ledger.Limit, error) {
	if desk, ok := s.limitDesk(); ok {
		return desk.Limits(ctx)
	}
	return nil, nil
}

// limitsView is the page of the shop's limits.
type limitsView struct {
	Frame    frame
	Form     *form
	Limits   []limitView
	Joints   []choice
	Signs    []choice
	Sections []string // of the joint asked for
	Unit     string
	Can      bool
	Proposed *proposedView
	NoMore   string // why there is no proposal
	// Unheard is a joint just given a limit that the catalog has not, Near what it has.
	Unheard, Near string
}

// limitView is one limit.
type limitView struct {
	Joint, Path, Section, Closure string
	Rate, Told                    string // in the shop's unit; as it was told, where that differs
	Sign, At, Since               string
	Change                        string
}

// proposedView is a proposal in words.
type proposedView struct {
	Of, Rate, Sentence, Method string
	Notes                      []string
}

// limitRoom is the temperature of the gas at which a limit told in sccm counts.
var limitRoom = quantity.FromCelsius(20)

// rateOf writes a limit's rate as it was told if that was in sccm, which no temperature
// changes, else in the shop's unit.
func (s *Site) rateOf(rate quantity.LeakRate) string {
	q := rate.At(limitRoom)
	return s.shown().limitSet(bench.Setup{
		Limit: float64(q), LimitSCCM: q.SCCM(limitRoom), Standard: rate.Standard(), Ambient: s.room(),
	})
}

// room is the pressure of the room in Pa as it was told at the bench, in which a limit in
// cm³/min counts; 0 when it was not.
func (s *Site) room() float64 {
	for _, g := range s.bench.Snapshot().Gauges {
		if g.Setup.Ambient > 0 {
			return g.Setup.Ambient
		}
	}
	return 0
}

// limitWords are a limit in one line.
func (s *Site) limitWords(l ledger.Limit) string {
	text := "at most " + s.rateOf(l.Rate) + " in " + l.Sign + " at " + s.shown().pressure(l.At)
	if l.Section != "" {
		text += ", section " + l.Section
	}
	if l.Closure != "" {
		text += ", closure " + l.Closure
	}
	return text
}

var signChoices = []choice{{"suction", "suction"}, {"pressure", "pressure"}}

func (s *Site) limitsPage(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	f := newForm("sign", "suction", "at", s.shown().pressure(2500))
	for _, field := range []string{"joint", "section", "closure", "sign", "at", "rate"} {
		if q.Has(field) {
			f.values.Set(field, q.Get(field))
		}
	}
	s.renderLimits(w, r, http.StatusOK, f, q.Has("propose"))
}

func (s *Site) renderLimits(w http.ResponseWriter, r *http.Request, status int, f *form, propose bool) {
	ctx := r.Context()
	limits, err := s.limitsNow(ctx)
	if err != nil {
		s.fault(w, r, err)
		return
	}
	known, err := s.catalogNow(ctx)
	if err != nil {
		s.fault(w, r, err)
		return
	}
	view := limitsView{Frame: s.frame(r, "Limits", "/limits", "books.css"), Form: f, Signs: signChoices, Unit: s.shown().flowSymbol()}
	if joint := r.URL.Query().Get("unheard"); joint != "" && r.Method == http.MethodGet && unheard(known, joint) {
		view.Unheard, view.Near = joint, strings.Join(known.Near(joint, 3), ", ")
	}
	desk, can := s.limitDesk()
	view.Can = can
	for _, l := range limits {
		view.Limits = append(view.Limits, s.limitView(l))
	}
	for _, i := range known.Instruments() {
		for _, j := range i.Joints {
			name := i.Name + "/" + j.Name
			view.Joints = append(view.Joints, choice{name, titleInFull(i, j)})
			if name == f.Value("joint") {
				for _, x := range j.Sections {
					view.Sections = append(view.Sections, x.Name)
				}
			}
		}
	}
	if propose && can {
		if of, ok := s.limitTold(f, false); ok {
			p, err := desk.ProposeLimit(ctx, of)
			switch {
			case err == nil:
				view.Proposed = s.proposedView(p)
				if f.Value("rate") == "" {
					f.values.Set("rate", view.Proposed.Rate)
				}
				f.values.Set("closure", cmp.Or(f.Value("closure"), p.Of.Closure))
			case f.refuse(err):
				view.NoMore, f.Whole = f.Whole, ""
			default:
				s.fault(w, r, err)
				return
			}
		} else {
			status = http.StatusUnprocessableEntity
		}
	}
	s.renderAs(w, r, status, "limits.html", view)
}

func (s *Site) limitView(l ledger.Limit) limitView {
	view := limitView{
		Joint: l.Joint, Section: l.Section, Closure: l.Closure, Sign: l.Sign,
		Rate: s.rateOf(l.Rate), At: s.shown().pressure(l.At), Since: s.shown().day(l.Set),
	}
	if told := l.Rate.String(); told != view.Rate {
		view.Told = told
	}
	if instrument, joint, ok := strings.Cut(l.Joint, "/"); ok {
		view.Path = catalogPath(instrument, joint)
	}
	view.Change = "/limits?" + url.Values{"joint": {l.Joint}, "section": {l.Section}, "closure": {l.Closure}, "sign": {l.Sign},
		"at": {s.shown().pressure(l.At)}, "rate": {view.Rate}}.Encode() + "#set"
	return view
}

func (s *Site) proposedView(p ProposedLimit) *proposedView {
	rate := s.shown().limitOf(p.Limit, p.InSCCM(limitRoom), s.room())
	return &proposedView{
		Of: p.Of.Of() + ", " + p.Of.Sign + " at " + s.shown().pressure(p.Of.At), Rate: rate,
		Sentence: p.Sentence, Method: p.Method, Notes: p.Notes,
	}
}

// limitTold reads a limit from a form; what is wrong stands beside its field.
func (s *Site) limitTold(f *form, withRate bool) (ledger.Limit, bool) {
	l := ledger.Limit{Joint: f.Value("joint"), Section: f.Value("section"), Closure: f.Value("closure"), Sign: f.Value("sign")}
	if instrument, joint, ok := strings.Cut(l.Joint, "/"); !ok || instrument == "" || joint == "" {
		f.fault("joint", "Choose a joint of the list, or write INSTRUMENT/JOINT, such as oboe/upper.")
	}
	if l.Sign != "suction" && l.Sign != "pressure" {
		f.fault("sign", "Choose suction or pressure.")
	}
	at, err := quantity.ParsePressureIn(f.Value("at"), s.shown().units.Pressure)
	switch {
	case err != nil:
		f.fault("at", asSentence(err.Error()))
	case at < 50 || at > 20e3:
		f.fault("at", "Want from "+s.shown().pressure(50)+" to "+s.shown().pressure(20e3)+".")
	default:
		l.At = float64(at)
	}
	if withRate {
		l.Rate, err = s.rateTyped(f.Value("rate"))
		if f.Value("rate") == "" {
			f.fault("rate", "Say how much may leak, such as "+s.rateExample()+".")
		} else if err != nil {
			f.fault("rate", asSentence(err.Error()))
		} else if _, err := trial.NewLimit(float64(l.Rate.At(limitRoom))); err != nil {
			f.fault("rate", asSentence(err.Error()))
		}
	}
	return l, !f.Any()
}

// unheard reports whether the catalog has no joint of a name. A shop may name its own.
func unheard(known catalog.Catalog, joint string) bool {
	_, _, err := known.Joint(joint)
	return err != nil
}

// rateExample is a leakage rate as the shop writes it. It is no advice: none is published.
func (s *Site) rateExample() string {
	rate, err := quantity.ParseLeakRate("2.5 sccm")
	if err != nil {
		return s.shown().flowSymbol()
	}
	return s.rateOf(rate)
}

// rateTyped reads a leakage rate in the shop's unit, or in one that it names.
func (s *Site) rateTyped(text string) (quantity.LeakRate, error) {
	u := s.shown()
	if u.units.Flow == quantity.ThroughputFlow { // shown in thousandths of the unit
		number := strings.TrimSpace(strings.TrimSuffix(text, u.flowSymbol()))
		if v, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64); err == nil {
			return quantity.ParseLeakRate(fmt.Sprintf("%g Pa·m³/s", v/perMilli))
		}
	}
	return quantity.ParseLeakRateIn(text, u.units.Flow, quantity.Pressure(roomOf(s.room())))
}

// setLimit records a limit.
func (s *Site) setLimit(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	desk, can := s.limitDesk()
	if !can {
		s.notDone(w, r, "Limits cannot be set here.")
		return
	}
	l, ok := s.limitTold(f, true)
	if ok {
		if err := desk.SetLimit(r.Context(), l); err != nil && !f.refuse(err) {
			s.fault(w, r, err)
			return
		}
	}
	if f.Any() {
		s.renderLimits(w, r, http.StatusUnprocessableEntity, f, false)
		return
	}
	to := "/limits#list"
	if known, err := s.catalogNow(r.Context()); err == nil && unheard(known, l.Joint) {
		to = "/limits?unheard=" + url.QueryEscape(l.Joint) + "#list"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}
