package ledger

import (
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// Trial is the content of a trial record. A trial that gains a hold is appended again
// under the same identity; the newest record is what it is now.
type Trial struct {
	ID         string   `json:"id"`
	Holds      []string `json:"hold_ids"`
	Bench      string   `json:"bench,omitempty"`
	Instrument string   `json:"instrument,omitempty"`
	Joint      string   `json:"joint,omitempty"`
	Section    string   `json:"section,omitempty"`
	Closure    string   `json:"closure,omitempty"`
	When       string   `json:"when,omitempty"`
	Ticket     string   `json:"ticket,omitempty"`
	// Of is INSTRUMENT/JOINT in one word, by which lists find it.
	Of string `json:"of,omitempty"`
	// Rig is what it was measured with. Unnamed tells that the gauge gave no serial number:
	// Rig has its label, which any gauge in its place would have.
	Rig     rig.Identity `json:"rig,omitzero"`
	Unnamed bool         `json:"unnamed_gauge,omitempty"`
	Result  trial.Trial  `json:"result"`
	// Terms are what the holds' own records lack to make Result again; nil in records of
	// before it was kept.
	Terms *TrialTerms `json:"terms,omitempty"`
}

// TrialTerms are what a trial was judged by beside its holds, so that it can be judged
// again when one of them was set aside. The limit and why a verdict was withheld are in
// the result's decision.
type TrialTerms struct {
	// Known is what earlier trials had told of the rig's repeatability.
	Known trial.Repeatability `json:"known,omitzero"`
	// Plugging counts the times that the stoppers were put in, and Dof has the degrees of
	// freedom of the leakage rates, 0 for so many that they do not matter; both are in the
	// order of the holds.
	Plugging []int     `json:"plugging"`
	Dof      []float64 `json:"dof"`
	// Notes are those of the result that are not about its holds.
	Notes []string `json:"notes,omitempty"`
}

// Draft returns the trial as a record to append.
func (t Trial) Draft() Draft { return Draft{Kind: TrialDone, Content: t} }

// Point returns the trial as a point of its instrument's trend.
func (e TrialEntry) Point() TrendPoint {
	p := TrendPoint{At: e.At, Trial: e.ID, Ticket: e.Ticket, Joint: e.Joint, Section: e.Section, When: e.When,
		Verdict: string(e.Result.Verdict)}
	if r := e.Result.LeakRate; r != nil {
		p.HasRate, p.Rate, p.U, p.Low, p.High = true, r.Value, r.U, r.Low, r.High
	}
	return p
}
