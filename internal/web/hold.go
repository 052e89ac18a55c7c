package web

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/ledger"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// holdPageView is the page of one hold. It has no script.
type holdPageView struct {
	Frame   frame
	Hold    holdView
	Result  resultView
	Subject subjectView
	Notes   []string // but for the pressing ones, which stand with the result
	Aside   *asideView
	Plot    template.HTML // the hold redrawn; empty where nothing can be
	Told    []toldView
	Rig     []rigUsedView
	Trials  []link
	Method  string
	Again   againView
	Trace   bool // whether the readings can be had as a file
	Void    *voidView
	Refused string // why a hold could not be set aside, where there is no form
	Under   bool   // it is being measured
}

// resultView is a result in huge letters, with its grounds.
type resultView struct {
	Verdict  verdictView
	Figure   *figureView
	Size     int      // of the figure in characters, which decides how large they are
	From     string   // where the limit came from
	Pressing []string // notes that must stand beside the verdict
	Off      bool     // it does not count
	None     string   // what stands in place of a figure
}

// newResult returns the view of a result; decision is nil where no limit was asked.
func newResult(verdict verdictView, figure *figureView, decision *trial.Decision) resultView {
	view := resultView{Verdict: verdict, Figure: figure, None: "no leakage rate"}
	if figure != nil {
		view.Size = max(5, min(9, len([]rune(figure.Value))))
	}
	if decision != nil {
		view.From = decision.From
	}
	return view
}

// asideView says that a hold does not count.
type asideView struct{ When, Reason string }

func (s *Site) asideView(a *Aside) *asideView {
	if a == nil {
		return nil
	}
	view := &asideView{When: s.shown().moment(a.At), Reason: a.Reason}
	if view.Reason == "" {
		view.Reason = "the reason was erased"
	}
	return view
}

// againView says how the hold fitted again stands to what was recorded.
type againView struct {
	Class        string // names the shape
	Before, Word string // what is said
	Why          string
}

// rigUsedView is a record of the rig that a result used.
type rigUsedView struct{ ID, Name, Day, Figure string }

func (s *Site) holdPage(w http.ResponseWriter, r *http.Request) {
	whole, err := s.wholeHold(r)
	if err != nil {
		s.recordFault(w, r, err)
		return
	}
	s.render(w, r, "hold.html", s.holdPageView(r, whole, newForm()))
}

// wholeHold reads the hold that a request is about.
func (s *Site) wholeHold(r *http.Request) (WholeHold, error) {
	var records interface {
		WholeHold(ctx context.Context, id string) (WholeHold, error)
	} = bare{s.ledger}
	if all, ok := s.ledger.(Records); ok {
		records = all
	}
	return records.WholeHold(r.Context(), r.PathValue("id"))
}

func (s *Site) holdPageView(r *http.Request, whole WholeHold, f *form) holdPageView {
	u := s.shown()
	view := holdPageView{
		Hold:    s.holdView(whole.HoldData, scale{}),
		Subject: subjectOf(whole.On),
		Aside:   s.asideView(whole.Aside),
		Told:    u.told(whole),
		Method:  whole.Method,
		Again:   againOf(whole.Repeat),
	}
	view.Hold.standing(whole.HoldData)
	view.Hold.Time = u.moment(whole.Ended)
	view.Result = newResult(view.Hold.Verdict, view.Hold.Figure, whole.Decision)
	view.Result.Pressing, view.Result.Off = view.Hold.Pressing, whole.Aside != nil
	if whole.Unended != "" {
		view.Result.None, view.Again = "no result", againView{}
	}
	if view.Under = whole.Unended == bench.BeingMeasured; view.Under {
		view.Result.None = "no result yet"
	}
	for _, note := range append(view.Hold.Notes, view.Hold.More...) {
		if !slices.Contains(view.Hold.Pressing, note) {
			view.Notes = append(view.Notes, note)
		}
	}
	view.Frame = s.frame(r, view.Hold.Verdict.Word+", hold of "+view.Hold.Time, "/holds", "plot.css", "records.css")
	view.Frame.Back = &link{"/holds", "All holds"}
	view.Plot = u.redraw(whole)
	for _, t := range whole.Trials {
		view.Trials = append(view.Trials, link{"/trials/" + t.ID, u.trialWords(t)})
	}
	for _, record := range whole.Rig {
		view.Rig = append(view.Rig, s.rigUsed(record, whole.On.Ambient))
	}
	_, view.Trace = s.ledger.(Records)
	if s.desk != nil && whole.Aside == nil && whole.Unrecorded == "" && !view.Under {
		view.Void = newVoidView(whole.ID, f)
	}
	return view
}

// trialWords name a trial in a link.
func (u shown) trialWords(t ledger.Trial) string {
	return fmt.Sprintf("trial of %s, %s", counting(t.Result.Holds, "hold"), strings.Join(present(
		strings.Join(present(t.Instrument, t.Joint), ", "), t.Section, strings.ReplaceAll(t.When, "_", " "),
	), ", "))
}

// counting writes a number of things: 1 hold, 3 holds.
func counting(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// againOf says whether the record could be repeated.
func againOf(again *bench.Repeat) againView {
	if again == nil {
		return againView{}
	}
	const before = "Fitted again from the stored readings just now, the result"
	switch again.Agreement {
	case bench.Agrees:
		return againView{"pass", before, "agrees with what was recorded", ""}
	case bench.Differs:
		return againView{"fail", before, "differs from what was recorded", again.Why}
	}
	return againView{"none", "Fitted again from the stored readings, the result could", "not be repeated", again.Why}
}

// rigUsed writes a record of the rig with its figure, U (k = 2).
func (s *Site) rigUsed(record rig.Record, ambient float64) rigUsedView {
	u := s.shown()
	view := rigUsedView{ID: record.ID, Name: string(record.Kind), Day: u.day(record.ValidFrom)}
	switch {
	case record.Volume != nil:
		view.Figure = volumeWithU(record.Volume.Value, record.Volume.U)
	case record.Blank != nil:
		view.Name += " in " + record.Blank.Sign.String()
		view.Figure = u.throughputWithU(record.Blank.LeakRate.Value, record.Blank.LeakRate.U, ambient)
	case record.Calibration != nil:
		figure, _ := record.Figure()
		m := written(figure.Value, expanded(figure.U))
		view.Figure = "span × " + m.Value + " ± " + m.U
	}
	return view
}

// holdTrace sends the readings as a file: the same bytes as the export command's.
func (s *Site) holdTrace(w http.ResponseWriter, r *http.Request, records Records) {
	id := r.PathValue("id")
	var file strings.Builder
	if err := records.WriteTrace(r.Context(), id, &file); err != nil {
		s.recordFault(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="hold-`+filename(id)+`.csv"`)
	_, _ = w.Write([]byte(file.String())) // fails only when the reader has gone
}

// filename leaves of an identity what every system takes in the name of a file.
func filename(id string) string {
	return strings.Map(func(r rune) rune {
		if r == '-' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return r
		}
		return '-'
	}, id)
}
