package ledger

// BenchLaid is the kind of record that says what was laid on a bench; its content is a
// [Laid].
const BenchLaid RecordKind = "laid"

// Laid is what was laid on a bench on one gauge. The newest of a gauge is what lies there.
type Laid struct {
	Gauge   string `json:"gauge"`
	Ticket  string `json:"ticket,omitempty"`
	Joint   string `json:"joint"` // INSTRUMENT/JOINT
	Section string `json:"section,omitempty"`
	Closure string `json:"closure,omitempty"`
	When    string `json:"when,omitempty"` // as_found, as_left
}

// Draft returns it as a record to append.
func (l Laid) Draft() Draft { return Draft{Kind: BenchLaid, Content: l, About: []string{l.Gauge}} }
