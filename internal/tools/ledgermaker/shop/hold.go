package shop

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"time"

	"boretight/internal/decay"
	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

const (
	// readings are few: what is measured on such a ledger is its lists.
	readings = 40
	rate     = 4.0 // readings a second
	// perSCCM is a throughput of 1 cm³/min at 0 °C, held at 20 °C, in Pa·m³/s.
	perSCCM = 1.68875e-3 * 293.15 / 273.15
)

// hold writes a hold of a trial and returns its identity.
func (m *maker) hold(ctx context.Context, b *sqlite.Bulk, t ledger.Trial, sccm float64) (string, error) {
	begin := ledger.Begin{ID: ledger.NewID(), Gauge: "north", Kind: trace.Gauge, Bench: t.Bench, Instrument: t.Instrument, Joint: t.Joint,
		Closure: t.Closure, When: t.When, Ticket: t.Ticket, Writer: m.writer, Started: m.at}
	var data []byte
	for i := range readings {
		s := float64(i) / rate
		data = ledger.AppendReading(data, trace.Reading{
			T: time.Duration(s * float64(time.Second)), Pressure: -2600*math.Exp(-s*sccm/50) + m.random.NormFloat64(), Celsius: 20})
	}
	content, err := ledger.Canonical(outcome(sccm))
	if err != nil {
		return "", err
	}
	sum := ledger.Sum(data)
	return begin.ID, b.Hold(ctx, begin, []ledger.Block{{Hold: begin.ID, Count: readings, Data: data, Running: sum}},
		ledger.End{ID: begin.ID, Readings: readings, SHA256: sum, Ended: m.at.Add(10 * time.Second), Outcome: content})
}

// outcome judges a leakage rate by the shop's limit with an uncertainty of 1 %.
func outcome(sccm float64) trial.Outcome {
	estimate := func(v float64) decay.Estimate {
		return decay.Estimate{Value: v, U: v / 100, Low: v * 0.98, High: v * 1.02}
	}
	p := 0.5 * math.Erfc((sccm-limitSCCM)/(sccm/100)/math.Sqrt2)
	o := trial.Outcome{Schema: trial.SchemaHold, Sign: "suction", At: statedPa, Verdict: trial.Inconclusive,
		LeakRate: &trial.LeakRate{Unit: "Pa·m³/s", Estimate: estimate(sccm * perSCCM), Coverage: 0.95}, SCCM: new(estimate(sccm)),
		Decision: &trial.Decision{LimitSCCM: limitSCCM, Limit: limitSCCM * perSCCM, Rule: "JCGM 106", PConform: p}}
	switch {
	case p >= 0.95:
		o.Verdict = trial.Pass
	case p <= 0.05:
		o.Verdict = trial.Fail
	}
	return o
}

var syllables = strings.Fields("ar bel cor dun el fen gar hol ist jor kel lum mar nor os pel quin ros sel tam ul ver wex yar zim")

// name makes up a name of three syllables.
func name(r *rand.Rand) string {
	var b strings.Builder
	for range 3 {
		b.WriteString(syllables[r.IntN(len(syllables))])
	}
	s := b.String()
	return strings.ToUpper(s[:1]) + s[1:]
}

var phrases = [...]string{
	"low notes do not speak", "stuffy since the winter", "third octave cracks", "floated a pad", "new cork on the tenon", "levelled a tone hole",
}

func phrase(r *rand.Rand) string { return phrases[r.IntN(len(phrases))] }
