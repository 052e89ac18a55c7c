package main

import (
	"fmt"
	"io"
	"strings"

	"boretight/internal/trial"
)

// trial prints several holds' common result for people.
func (t *teller) trial(r trial.Trial) error {
	var b strings.Builder
	switch {
	case r.SCCM == nil:
		fmt.Fprintf(&b, "trial of %d holds: NO LEAKAGE RATE\n", r.Holds)
	case r.Verdict == trial.None:
		fmt.Fprintf(&b, "trial of %d holds: %s\n", r.Holds, withU(*r.SCCM, "sccm"))
	default:
		fmt.Fprintf(&b, "trial of %d holds: %s: %s\n", r.Holds, strings.ToUpper(string(r.Verdict)), withU(*r.SCCM, "sccm"))
	}
	if r.SCCM != nil {
		b.WriteString(wrapped("  leakage rate   ", withInterval(*r.SCCM, "sccm")))
	}
	b.WriteString(t.decision(r.Decision))
	for _, note := range r.Notes {
		b.WriteString(wrapped("  note: ", note))
	}
	_, err := io.WriteString(t.w, b.String())
	return err
}
