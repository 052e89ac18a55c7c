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
	// Rig is what it was measured with.
	Rig    rig.Identity `json:"rig,omitzero"`
	Result trial.Trial  `json:"result"`
}

// Draft returns the trial as a record to append.
func (t Trial) Draft() Draft { return Draft{Kind: TrialDone, Content: t} }
