package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/guptarohit/asciigraph"

	"boretight/internal/air"
	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

// teller prints results for people. It says a decision rule in full once, and after
// that only that it is the same.
type teller struct {
	w    io.Writer
	rule string // that was said last
}

// outcome prints a hold's result: the verdict first, then the figures it rests on, then
// what else there is to know.
func (t *teller) outcome(o trial.Outcome, h *hold.Hold, plot bool) error {
	var b strings.Builder
	b.WriteString(wrapped("", headline(o)))
	pressing := min(o.Pressing, len(o.Notes))
	for _, note := range o.Notes[:pressing] {
		b.WriteString(wrapped("  note: ", note))
	}
	if o.LeakRate != nil && o.SCCM != nil {
		b.WriteString(wrapped("  leakage rate   ", withInterval(*o.SCCM, "sccm")))
		b.WriteString(wrapped("                 ", withInterval(o.LeakRate.Estimate, o.LeakRate.Unit)))
		fmt.Fprintf(&b, "  as wide as     %s\n", gapText(o, h))
	}
	if o.TimeConstant != nil {
		fmt.Fprintf(&b, "  time constant  %s\n", plusMinus(o.TimeConstant.Value, 2*o.TimeConstant.U, "s"))
	}
	if o.PressureRate != nil {
		fmt.Fprintf(&b, "  pressure rate  %s\n", plusMinus(o.PressureRate.Value, 2*o.PressureRate.U, "Pa/s"))
	}
	if o.Hold != nil {
		b.WriteString(wrapped("  hold           ", holdText(o)))
	}
	b.WriteString(t.decision(o.Decision, o.LeakRate != nil))
	if len(o.Budget) > 0 {
		b.WriteString(wrapped("  uncertain by   ", budgetText(o.Budget)))
	}
	for _, note := range o.Notes[pressing:] {
		b.WriteString(wrapped("  note: ", note))
	}
	if o.ID != "" {
		fmt.Fprintf(&b, "  recorded as    %s\n", o.ID)
	}
	if plot && h != nil && h.Isolated() {
		fmt.Fprintln(&b, plotOf(h))
	}
	_, err := io.WriteString(t.w, b.String())
	return err
}

// decision is the limit with the rule, and what would settle the matter; empty without a
// limit. Where nothing was measured there is no probability either.
func (t *teller) decision(d *trial.Decision, measured bool) string {
	if d == nil {
		return ""
	}
	limit := fmt.Sprintf("%.4g sccm", d.LimitSCCM)
	if measured {
		limit += "; within it with a probability of " + probabilityText(d.PConform)
	}
	text := wrapped("  limit          ", limit)
	if d.From != "" && d.From != bench.LimitTold {
		text += wrapped("  limit from     ", d.From)
	}
	if d.Rule == t.rule {
		text += "  rule           as above: 95 % sure, or inconclusive\n"
	} else {
		text += wrapped("  rule           ", d.Rule)
		t.rule = d.Rule
	}
	if d.Next != "" {
		text += wrapped("  to settle it   ", d.Next)
	}
	return text
}

// probabilityText writes a probability so that it is never rounded to certainty.
func probabilityText(p float64) string {
	switch {
	case p > 0.9995:
		return "more than 0.999"
	case p < 0.0005:
		return "less than 0.001"
	}
	return fmt.Sprintf("%.3f", p)
}

// headline is the answer in one line.
func headline(o trial.Outcome) string {
	name := o.File
	if name == "" {
		name = o.Gauge
	}
	return name + ": " + verdictText(o)
}

func verdictText(o trial.Outcome) string {
	switch {
	case o.Hold == nil:
		return "NO HOLD"
	case o.LeakRate == nil && o.PressureRate != nil:
		return "NO LEAKAGE RATE: it needs a volume" + reservation(o)
	case o.LeakRate == nil:
		return "NO LEAKAGE RATE" + reservation(o)
	case o.Verdict == trial.None:
		return "MEASURED" + reservation(o) + ", no limit given: " + withU(*o.SCCM, "sccm")
	}
	return strings.ToUpper(string(o.Verdict)) + reservation(o) + ": " + withU(*o.SCCM, "sccm")
}

// reservation says how much of a disturbed hold a verdict speaks of.
func reservation(o trial.Outcome) string {
	after, cut := o.CutShort()
	switch {
	case cut:
		return fmt.Sprintf(" UP TO %.1f s, then disturbed", after)
	case o.Disturbed:
		return ", though disturbed"
	}
	return ""
}

// withU prints a value with its expanded uncertainty, k = 2.
func withU(e decay.Estimate, unit string) string { return plusMinus(e.Value, 2*e.U, unit) }

func plusMinus(value, expanded float64, unit string) string {
	v, u := quantity.Rounded(value, expanded)
	return fmt.Sprintf("%s ± %s %s", v, u, unit)
}

// withInterval adds the 95 % interval, to the same place as the uncertainty.
func withInterval(e decay.Estimate, unit string) string {
	low, _ := quantity.Rounded(e.Low, 2*e.U)
	high, _ := quantity.Rounded(e.High, 2*e.U)
	return fmt.Sprintf("%s (U, k = 2); 95 %% interval %s to %s", withU(e, unit), low, high)
}

// The seat that gaps are stated for, when none is named: a key of a clarinet or an
// oboe. Common practice, no source.
const (
	statedHole = 10e-3 // m
	statedLand = 1e-3  // m
)

// gapText says in the repairer's terms how wide the leak is.
func gapText(o trial.Outcome, h *hold.Hold) string {
	share := 0.0
	if o.InertialShare != nil {
		share = o.InertialShare.Value
	}
	conditions := air.Conditions{
		Sign: air.Suction, Difference: o.At, Ambient: air.StandardPressure, Temperature: 293.15,
	}
	if h != nil {
		conditions.Sign = air.Sign(h.Sign)
	}
	seat := air.Seat{Hole: statedHole, Land: statedLand}
	gap := seat.EquivalentGap(max(0, o.LeakRate.Value), share, conditions)
	return fmt.Sprintf("an even gap of %.3f mm under one pad (hole 10 mm, land 1 mm)", gap*1e3)
}

func holdText(o trial.Outcome) string {
	x := o.Hold
	text := fmt.Sprintf("%s, %.1f s, from %.2f to %.2f kPa, %d readings", o.Sign, x.End-x.Start, x.DeltaStart/1e3, x.DeltaEnd/1e3, x.Readings)
	if x.Lost > 0 {
		text += fmt.Sprintf(", %d lost", x.Lost)
	}
	if _, cut := o.CutShort(); cut {
		text += fmt.Sprintf("; held for %.1f s in all", x.Held)
	}
	return text
}

// budgetText names the largest sources of doubt; those below a tenth of the first
// add nothing.
func budgetText(budget []decay.Contribution) string {
	var parts []string
	for _, c := range budget {
		if len(parts) == 4 || c.U < budget[0].U/10 {
			break
		}
		parts = append(parts, fmt.Sprintf("%s %.2g %%", c.Source, 100*c.URelative))
	}
	return strings.Join(parts, ", ")
}

// plotOf draws the pressure difference of a hold.
func plotOf(h *hold.Hold) string {
	const width, height = 64, 9
	first := h.Draw
	deltas := make([]float64, 0, width)
	for i := range width {
		j := first + i*(len(h.Readings)-1-first)/(width-1)
		deltas = append(deltas, h.Delta(j)/1e3)
	}
	span := h.Readings[len(h.Readings)-1].Seconds() - h.Readings[first].Seconds()
	return asciigraph.Plot(deltas,
		asciigraph.Height(height), asciigraph.Precision(1),
		asciigraph.Caption(fmt.Sprintf("pressure difference in kPa over %.1f s", span)))
}
