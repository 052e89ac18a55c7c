package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"boretight/internal/bench"
	"boretight/internal/ledger"
	"boretight/internal/plot"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// Records is what the pages of holds, trials and visits read of the stored log. A [Ledger]
// that is one too is used as one; without it there are single holds only.
type Records interface {
	// ListHolds lists holds without their readings, newest first.
	ListHolds(ctx context.Context, of Sought) ([]bench.HoldData, error)
	// WholeHold returns all that is kept of one hold, or [ErrNoHold].
	WholeHold(ctx context.Context, id string) (WholeHold, error)
	// WriteTrace writes a hold's readings as a trace file, or returns [ErrNoHold].
	WriteTrace(ctx context.Context, id string, w io.Writer) error

	// ListTrials lists trials with their results as they count now, the last changed first.
	ListTrials(ctx context.Context, of Sought) ([]TrialRecord, error)
	// WholeTrial returns a trial with its holds, or [ErrNoTrial].
	WholeTrial(ctx context.Context, id string) (WholeTrial, error)
	// CompareTrials sets one trial against another: [ErrNoTrial], [trial.ErrNoRate],
	// [trial.ErrUnlike].
	CompareTrials(ctx context.Context, found, left string) (Compared, error)
	// PairsOf returns the trials of a visit that can be compared, of one joint
	// (INSTRUMENT/JOINT) or of all, and what lacks one of the two, in words.
	PairsOf(ctx context.Context, ticket, joint string) (pairs []Pair, lacking []string, err error)
	// SlipOf returns what a visit came to, or [ErrNoTicket].
	SlipOf(ctx context.Context, ticket string) (Slip, error)
}

// What the stored log may not have.
var (
	ErrNoTrial  = errors.New("no such trial")
	ErrNoTicket = errors.New("no such ticket")
)

// Sought is what a list is asked for; the zero Sought is the newest of all. Each that is
// not empty must match.
type Sought struct {
	Words   string // must all occur
	Verdict string // pass, fail or inconclusive
	When    string // as_found or as_left
	Before  string // the last entry of the page before
	Limit   int
}

// WholeHold is all that is kept of one hold.
type WholeHold struct {
	bench.HoldData
	// Repeat is the hold fitted again from its readings; nil where they are not kept.
	Repeat *bench.Repeat
	// Aside says when and why it was set aside; nil when it was not.
	Aside *Aside
	// Trials are those that it belongs to, with their results as recorded.
	Trials []ledger.Trial
	// Rig are the records of the rig that the result used.
	Rig []rig.Record
}

// Aside is when and why a hold was set aside. Reason is empty once it was erased.
type Aside struct {
	At     time.Time
	Reason string
}

// WholeTrial is a trial, its result as it counts now, and all its holds in the order in
// which they were held.
type WholeTrial struct {
	TrialRecord
	Members []TrialHold
}

// TrialRecord is a trial with its result as it counts now, and the pressure of the room in
// Pa as told; 0 when it was not.
type TrialRecord struct {
	ledger.TrialEntry
	Ambient float64
}

// TrialHold is a hold of a trial.
type TrialHold struct {
	bench.HoldData
	Aside *Aside
}

// Pair names two trials to compare: of what, and their identities.
type Pair struct{ Of, Found, Left string }

// Compared is one trial set against another. Because says of each error whether it cancels,
// and why; Again is a hold as left fitted again, for its wedge, and may be nil.
type Compared struct {
	trial.Comparison
	Before, After WholeTrial
	Because       []string
	Again         *bench.Repeat
}

// bare makes do with a ledger that only knows single holds.
type bare struct{ ledger Ledger }

func (b bare) WholeHold(ctx context.Context, id string) (WholeHold, error) {
	hold, err := b.ledger.Hold(ctx, id)
	return WholeHold{HoldData: hold}, err
}

// recordRoutes registers the pages of holds, trials, comparisons and what is printed.
func (s *Site) recordRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /static/plot.css", plotStyle)
	mux.HandleFunc("GET /holds/{id}", s.holdPage)
	mux.HandleFunc("POST /holds/{id}/void", s.onlyLooks(s.voidHold))
	for path, page := range map[string]func(http.ResponseWriter, *http.Request, Records){
		"GET /holds":                s.holdList,
		"GET /holds/{id}/trace.csv": s.holdTrace,
		"GET /trials":               s.trialList,
		"GET /trials/{id}":          s.trialPage,
		"GET /compare":              s.comparePage,
		"GET /tickets/{id}/compare": s.compareTicket,
		"GET /print/slip/{ticket}":  s.slipPage,
		"GET /print/label/{ticket}": s.labelPage,
	} {
		mux.HandleFunc(path, s.withRecords(page))
	}
}

// withRecords gives a page the stored log, or says that there is none.
func (s *Site) withRecords(page func(http.ResponseWriter, *http.Request, Records)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		records, ok := s.ledger.(Records)
		if !ok {
			s.noRecord(w, r, "There is no ledger to read.", "The program was started without one, so only the holds at the bench can be seen.")
			return
		}
		page(w, r, records)
	}
}

// noRecordView is the page of what is not there.
type noRecordView struct {
	Frame     frame
	What, Why string
}

// noRecord answers for what is not there.
func (s *Site) noRecord(w http.ResponseWriter, r *http.Request, what, why string) {
	s.renderAs(w, r, http.StatusNotFound, "record-absent", noRecordView{s.frame(r, what, "", "records.css"), what, why})
}

// recordFault answers for an error of the stored log.
func (s *Site) recordFault(w http.ResponseWriter, r *http.Request, err error) {
	for known, what := range map[error]string{ErrNoHold: "hold", ErrNoTrial: "trial", ErrNoTicket: "ticket"} {
		if errors.Is(err, known) {
			s.noRecord(w, r, fmt.Sprintf("There is no such %s.", what), fmt.Sprintf("The ledger has no %s of that name. Its address may have been cut short, or it is of another ledger.", what))
			return
		}
	}
	s.fault(w, r, err)
}

// plotStyle colours the plots from the page's own tokens.
func plotStyle(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	_, _ = io.WriteString(w, plot.Stylesheet) // fails only when the reader has gone
}
