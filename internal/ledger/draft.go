package ledger

import (
	"boretight/internal/trial"
)

// Draft is a record to be appended.
type Draft struct {
	Kind RecordKind
	// Content is written by [Canonical].
	Content any
	// About names what the record concerns (hold, ticket, rig …), so that
	// [Store.About] finds it. Each name must occur as a string in Content.
	About []string
	// Texts are the erasable texts that Content refers to by [Text.Ref].
	Texts []Text
}

// Trial is the content of a trial record.
type Trial struct {
	ID         string      `json:"id"`
	Holds      []string    `json:"hold_ids"`
	Bench      string      `json:"bench,omitempty"`
	Instrument string      `json:"instrument,omitempty"`
	Joint      string      `json:"joint,omitempty"`
	Section    string      `json:"section,omitempty"`
	When       string      `json:"when,omitempty"`
	Ticket     string      `json:"ticket,omitempty"`
	Result     trial.Trial `json:"result"`
}

// Draft returns the trial as a record to append.
func (t Trial) Draft() Draft {
	about := append([]string{t.ID}, t.Holds...)
	if t.Ticket != "" {
		about = append(about, t.Ticket)
	}
	return Draft{Kind: TrialDone, Content: t, About: about}
}

// Void is the content of a void record: a hold set aside.
type Void struct {
	ID     string  `json:"hold"`
	Reason TextRef `json:"reason"`
}

// VoidDraft sets a hold aside for a reason. The hold stays in the ledger.
func VoidDraft(holdID, reason string) Draft {
	t := NewText(reason)
	return Draft{Kind: HoldVoid, Content: Void{holdID, t.Ref()}, About: []string{holdID}, Texts: []Text{t}}
}

// Note is the content of a note record.
type Note struct {
	About string  `json:"about"`
	Text  TextRef `json:"text"`
}

// NoteDraft writes a note about a hold, a ticket or anything else with an identity.
func NoteDraft(about, text string) Draft {
	t := NewText(text)
	return Draft{Kind: NoteMade, Content: Note{about, t.Ref()}, About: []string{about}, Texts: []Text{t}}
}
