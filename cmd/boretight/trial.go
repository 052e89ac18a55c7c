package main

import (
	"fmt"
	"io"
	"strings"

	"boretight/internal/trial"
)

// printTrial prints several holds' common result for people.
func printTrial(w io.Writer, t trial.Trial) error {
	var b strings.Builder
	switch {
	case t.SCCM == nil:
		fmt.Fprintf(&b, "trial of %d holds: NO LEAKAGE RATE\n", t.Holds)
	case t.Verdict == trial.None:
		fmt.Fprintf(&b, "trial of %d holds: %s\n", t.Holds, withInterval(*t.SCCM, "sccm"))
	default:
		fmt.Fprintf(&b, "trial of %d holds: %s: %s\n", t.Holds, strings.ToUpper(string(t.Verdict)), withInterval(*t.SCCM, "sccm"))
	}
	if t.Decision != nil {
		fmt.Fprintf(&b, "  limit          %.4g sccm; %s\n", t.Decision.LimitSCCM, t.Decision.Rule)
		if t.Decision.Next != "" {
			fmt.Fprintf(&b, "  to settle it   %s\n", t.Decision.Next)
		}
	}
	for _, note := range t.Notes {
		fmt.Fprintf(&b, "  note: %s\n", note)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
