package bench

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"boretight/internal/air"
	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// terms are what one hold is measured against. They are settled when it begins, so that
// its begin record says all of them, but for what hangs on the sign of the draw.
type terms struct {
	settings Settings
	series   uint64
	now      time.Time
	rig      rig.Identity // gauge included
	unnamed  bool         // the gauge gave no serial number, so its label stands for it
	records  []rig.Record
	known    bool // records were looked at, be there any or not
	limits   []ledger.Limit
}

// terms returns what a hold is measured against that begins now on a gauge that says it
// has a serial number, or has none. Nothing of it waits for a disk.
func (b *Bench) terms(l *line, serial string) terms {
	settings, series := b.present(l)
	t := terms{settings: settings, series: series, now: b.now().UTC(), rig: settings.Rig, unnamed: serial == ""}
	t.rig.Gauge = cmp.Or(serial, l.source.Name)
	if b.rigRecords != nil {
		t.known = true
		t.records = ofGauge(b.rigRecords(), t.rig.Gauge)
	}
	if b.limits != nil {
		t.limits = b.limits()
	}
	return t
}

// ofGauge leaves out what was found with another gauge and holds for that one only: a
// bench may have several, and one that is out of control says nothing of the next.
func ofGauge(records []rig.Record, gauge string) []rig.Record {
	return slices.DeleteFunc(slices.Clone(records), func(r rig.Record) bool {
		switch r.Kind {
		case rig.KindBlank, rig.KindCheck, rig.KindProof:
			return r.Rig.Gauge != gauge
		}
		return false
	})
}

// measured is what a hold of one sign is measured against.
type measured struct {
	terms
	sign hold.Sign
	fit  decay.Setup
	// used are the identities of the records that the result rests on.
	used  []string
	notes []string
	// doubts are notes that must stand beside the verdict.
	doubts []string
	// rigNotes are those of the notes that every result must carry: whether the rig was
	// checked and proven.
	rigNotes []string
	// checkRig says why the rig may judge nothing; empty when it may.
	checkRig string
	// blank is what was subtracted, as scaled to the stated pressure difference; nil without.
	blank *rig.Blank
	told  ToldRig
	limit quantity.LeakRate
	from  string // where the limit came from
}

// of settles the terms for a sign.
func (t terms) of(sign hold.Sign) measured {
	m := measured{terms: t, sign: sign, fit: t.settings.Fit, notes: slices.Clone(t.settings.Notes)}
	m.findLimit()
	if !t.known {
		m.useTemplate(rig.Held{State: rig.Missing})
		return m
	}
	s := t.standing(air.Sign(sign))
	m.told.Identity, m.told.Unnamed = t.rig, t.unnamed
	if !s.Trusted() {
		m.checkRig = s.Check.Says
	}
	m.note(s.Check.Says, s.Proof.Says)
	m.rigNotes = slices.DeleteFunc([]string{s.Check.Says, s.Proof.Says}, func(text string) bool { return text == "" })
	m.useCalibration(s.Calibration)
	m.useVolume(s.Volume)
	m.useBlank(s.Blank)
	for _, h := range []rig.Held{s.Check, s.Proof} {
		if h.Holds() {
			m.use(h.Record)
		}
	}
	return m
}

func (t terms) standing(sign air.Sign) rig.Standing {
	return rig.NewStanding(t.now, rig.Subject{Rig: t.rig, Joint: t.settings.Setup.Subject(), Sign: sign}, t.records...)
}

func (m *measured) note(texts ...string) {
	for _, text := range texts {
		if text != "" {
			m.notes = append(m.notes, text)
		}
	}
}

// at returns the stated pressure difference in Pa.
func (m *measured) at() float64 {
	if m.fit.At == 0 {
		return decay.DefaultAt
	}
	return m.fit.At
}

// LimitTold is where a limit came from that was told with the measurement.
const LimitTold = "told for this measurement"

// findLimit takes the limit that was told, else the shop's for just what is held. Of another
// section or closure it is no limit: it would pass what leaks too much.
func (m *measured) findLimit() {
	if m.settings.Limit != (quantity.LeakRate{}) {
		m.limit, m.from = m.settings.Limit, LimitTold
		return
	}
	setup := m.settings.Setup
	mine := ledger.Limit{Joint: setup.Name(), Section: setup.Section, Closure: setup.Closure, At: m.at(), Sign: m.sign.String()}
	var others []string
	for _, l := range m.limits {
		switch {
		case l.Joint != mine.Joint:
		case l.Same(mine):
			m.limit = l.Rate
			m.from = fmt.Sprintf("the shop's limit for %s in %s, set on %s (record %s)", l.Of(), l.Sign, l.Set.Format("2 Jan 2006"), l.ID)
		default:
			others = append(others, fmt.Sprintf("%s in %s at %s", l.Of(), l.Sign, quantity.Pressure(l.At)))
		}
	}
	if m.from == "" && len(others) > 0 {
		m.note(fmt.Sprintf("No limit is set for %s in %s at %s; those set are for %s and do not count for it.",
			mine.Of(), mine.Sign, quantity.Pressure(mine.At), strings.Join(others, "; ")))
	}
}

// judge judges a hold, and returns the limit that it was judged by.
func (m *measured) judge(h *hold.Hold) (trial.Outcome, trial.Limit) {
	limit := LimitOf(m.limit, m.fit, h)
	o := trial.Judge(h, m.fit, limit)
	m.complete(&o)
	o.RigRecords = m.used
	if m.blank != nil && o.LeakRate != nil {
		u2 := max(o.LeakRate.U*o.LeakRate.U-m.fit.Rig.U*m.fit.Rig.U, 0)
		total := rig.Measured{Value: o.LeakRate.Value + m.fit.Rig.Value, U: math.Sqrt(u2)}
		o.Press(m.blank.Doubts(total, m.rig)...)
	}
	return o, limit
}

// complete adds to an outcome what its fit does not know.
func (m *measured) complete(o *trial.Outcome) {
	o.Notes = append(o.Notes, m.notes...)
	o.Press(m.settings.Doubts...)
	o.Press(m.doubts...)
	if o.Decision != nil {
		o.Decision.From = m.from
	}
	o.Withhold(m.checkRig)
}

// rigName names the rig and what of it was used, for trials: their holds must have it
// in common.
func (m *measured) rigName() string {
	var parts []string
	for _, p := range []struct{ name, value string }{
		{"gauge ", m.rig.Gauge}, {"hose ", m.rig.Hose}, {"stoppers ", m.rig.Stoppers}, {"valve ", m.rig.Valve},
		{"calibration ", m.told.Calibration}, {"blank ", m.told.Blank},
	} {
		if p.value != "" {
			parts = append(parts, p.name+p.value)
		}
	}
	return strings.Join(parts, ", ")
}
