package ledger

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
