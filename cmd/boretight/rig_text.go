package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"boretight/internal/decay"
	"boretight/internal/rig"
)

// statusOfRig is the exit status of a record: 3 for what was tried and failed, 4 for a
// check that says nothing.
func statusOfRig(r rig.Record) status {
	switch {
	case r.Check != nil && r.Check.State == rig.OutOfControl, r.Proof != nil && !r.Proof.Passed:
		return notTight
	case r.Check != nil && r.Check.State == rig.Unchecked:
		return undecided
	}
	return done
}

// printRig prints a record for people.
func printRig(w io.Writer, r rig.Record) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s\n", title(r), figure(r))
	for _, d := range details(r) {
		fmt.Fprintf(&b, "  %-14s %s\n", d[0], d[1])
	}
	if parts := rigText(r.Rig); parts != "" {
		fmt.Fprintf(&b, "  %-14s %s\n", "rig", parts)
	}
	fmt.Fprintf(&b, "  %-14s %s\n", "valid", validText(r))
	for _, note := range r.Notes {
		fmt.Fprintf(&b, "  note: %s\n", note)
	}
	if r.ID != "" {
		fmt.Fprintf(&b, "  %-14s %s\n", "recorded as", r.ID)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// title says what a record is of.
func title(r rig.Record) string {
	switch r.Kind {
	case rig.KindVolume:
		return "volume of " + r.Joint
	case rig.KindBlank:
		return "blank in " + r.Blank.Sign.String()
	case rig.KindCheck:
		return "check with " + r.Leak
	case rig.KindProof:
		return "proof with " + r.Leak
	}
	return string(r.Kind)
}

// figure is the one figure of a record with U (k = 2).
func figure(r rig.Record) string {
	value, unit := r.Figure()
	switch {
	case unit == "m³":
		return plusMinus(value.Value*1e6, 2e6*value.U, "ml (U, k = 2)")
	case r.Kind == rig.KindCheck:
		d := r.Check.Newest.Deviation
		return plusMinus(100*d.Value, 200*d.U, "% off (U, k = 2)") + ", " + string(r.Check.State)
	case r.Kind == rig.KindProof && r.Proof.Passed:
		return fmt.Sprintf("PASSED, largest |En| %.2f", value.Value)
	case r.Kind == rig.KindProof:
		return fmt.Sprintf("NOT PASSED, largest |En| %.2f", value.Value)
	case r.Kind == rig.KindCalibration:
		return "span factor " + strings.TrimSpace(plusMinus(value.Value, 2*value.Value*r.Calibration.SpanU(), "(U, k = 2)"))
	}
	return plusMinus(value.Value, 2*value.U, unit+" (U, k = 2)")
}

// details are further lines of a record, each with its name.
func details(r rig.Record) (lines [][2]string) {
	add := func(name, format string, args ...any) {
		lines = append(lines, [2]string{name, fmt.Sprintf(format, args...)})
	}
	switch {
	case r.Blank != nil:
		add("that is", "%s", plusMinus(decay.SCCM(r.Blank.LeakRate.Value, decay.AssumedTemperature), 2*decay.SCCM(r.Blank.LeakRate.U, decay.AssumedTemperature), "sccm"))
		add("rig's volume", "%s", plusMinus(r.Blank.Volume.Value*1e6, 2e6*r.Blank.Volume.U, "ml"))
		add("stated at", "%.4g kPa", r.Blank.At/1e3)
		add("uncertain by", "%s", rigBudget(r.Blank.LeakRate.Budget))
	case r.Volume != nil:
		rigToo := "rig not included"
		if r.Volume.RigIncluded {
			rigToo = "rig included"
		}
		add("by", "%s; %s", r.Volume.Method, rigToo)
		add("uncertain by", "%s", rigBudget(r.Volume.Budget))
	case r.Check != nil:
		n := r.Check.Newest
		add("measured", "%s", plusMinus(n.Measured.Value, 2*n.Measured.U, "Pa·m³/s"))
		add("certified", "%s", plusMinus(n.Stated.Value, 2*n.Stated.U, "Pa·m³/s"))
		add("says", "%s", r.Check.Says)
	case r.Proof != nil:
		for _, t := range r.Proof.Trials {
			add(fmt.Sprintf("at %.4g ml", t.Volume.Value*1e6), "%s, En %.2f", plusMinus(100*t.Deviation.Value, 200*t.Deviation.U, "% off"), t.En)
		}
		for _, s := range r.Proof.Says {
			add("says", "%s", s)
		}
	case r.Calibration != nil:
		c := r.Calibration
		add("pairs", "%d at %d heights, from %.4g to %.4g Pa", c.Pairs, c.Heights, c.From, c.To)
		add("correction", "%s", correctionText(c.Line))
		add("hysteresis", "%s; repeatability %s; bent by %s", pascals(c.Hysteresis), pascals(c.Repeatability), pascals(c.Nonlinearity))
		add("uncertain by", "%s", rigBudget(c.Span.Budget))
	}
	return lines
}

// correctionText is what to add to a reading, rounded to what matters of it.
func correctionText(l rig.Line) string {
	sign, slope := "+", l.Slope
	if slope < 0 {
		sign, slope = "−", -slope
	}
	return fmt.Sprintf("%s %s %.5f·reading", pascals(l.Value(0)), sign, slope)
}

// pascals is a pressure in Pa to a tenth, as no gauge here tells more.
func pascals(pa float64) string {
	text := strings.Replace(fmt.Sprintf("%.1f Pa", pa), "-", "−", 1)
	if text == "−0.0 Pa" {
		return "0.0 Pa"
	}
	return text
}

func rigBudget(budget []rig.Contribution) string {
	lines := make([]decay.Contribution, len(budget))
	for i, c := range budget {
		lines[i] = decay.Contribution(c)
	}
	return budgetText(lines)
}

// rigText names the parts of a rig that have a name.
func rigText(id rig.Identity) string {
	var parts []string
	for _, p := range [][2]string{{"gauge", id.Gauge}, {"hose", id.Hose}, {"stoppers", id.Stoppers}, {"valve", id.Valve}} {
		if p[1] != "" {
			parts = append(parts, p[0]+" "+p[1])
		}
	}
	return strings.Join(parts, ", ")
}

// validText says from when until when a record counts, in local time.
func validText(r rig.Record) string {
	const minute = "2 Jan 2006 15:04"
	if r.ValidUntil.IsZero() {
		return "from " + r.ValidFrom.In(time.Local).Format(minute)
	}
	return "from " + r.ValidFrom.In(time.Local).Format(minute) + " to " + r.ValidUntil.In(time.Local).Format(minute)
}
