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
		fmt.Fprintf(&b, "trial of %s: NO LEAKAGE RATE\n", counting(r.Holds, "hold"))
	case r.Verdict == trial.None:
		fmt.Fprintf(&b, "trial of %s: %s\n", counting(r.Holds, "hold"), withU(*r.SCCM, "sccm"))
	default:
		fmt.Fprintf(&b, "trial of %s: %s: %s\n", counting(r.Holds, "hold"), strings.ToUpper(string(r.Verdict)), withU(*r.SCCM, "sccm"))
	}
	if r.SCCM != nil {
		b.WriteString(wrapped("  leakage rate   ", withInterval(*r.SCCM, "sccm")))
	}
	b.WriteString(t.decision(r.Decision, r.LeakRate != nil))
	for _, note := range r.Notes {
		b.WriteString(wrapped("  note: ", note))
	}
	_, err := io.WriteString(t.w, b.String())
	return err
}

// counting is so many of something.
func counting(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
