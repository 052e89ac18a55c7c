package rig

// Refusal is returned when something cannot be computed honestly from what was given.
type Refusal struct {
	Doing string // what was being computed
	Found string // what stands against it
	Hint  string // what to do next; may be empty
}

// Error joins the three parts: "measure volume: … (…)".
func (r *Refusal) Error() string {
	text := r.Doing + ": " + r.Found
	if r.Hint != "" {
		text += " (" + r.Hint + ")"
	}
	return text
}
