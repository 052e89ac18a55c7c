package web

import (
	"fmt"
	"math"
	"strings"
	"time"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/trial"
)

// verdictView is a verdict as shown: never without the limit and the rule.
type verdictView struct {
	Word string // pass, fail, inconclusive, measured (no limit), no result, not a hold
	// Reservation says of a disturbed hold how much of it the word speaks of.
	Reservation string
	Class       string // names the shape and colour: pass fail inconclusive none
	// Limit, Chance, Rule and Next are empty when no limit was asked, Chance also without a rate.
	Limit, Chance, Rule, Next string
	Against                   string // limit, conditions and chance in a sentence
}

// figureView is a result: a figure, its expanded uncertainty, its unit, its interval.
type figureView struct {
	measured
	Unit     string
	Interval string // "2.113 to 2.204 sccm"
	SI       string // "(3.940 ± 0.040) × 10⁻³ Pa·m³/s"
}

// holdView is a hold as listed.
type holdView struct {
	ID, Gauge   string
	Stamp, Time string // machine-readable, and for people
	Sign        string
	At          string
	Of          string // what was held, in words; mostly there
	Voided      string // why it was set aside; mostly empty
	Present     bool   // of what lies on the bench now
	Figure      *figureView
	Verdict     verdictView
	Notes       []string
	More        []string // notes folded away
	Pressing    []string // of the notes, what must stand beside the verdict
	Budget      *budgetView
	Line, Area  string // SVG paths on the trial's scale
}

// trialView is several holds combined.
type trialView struct {
	Holds, Used int
	Figure      *figureView
	Verdict     verdictView
	Notes       []string
	Budget      *budgetView
}

// verdictOfHold is the verdict on a hold. Of what was never held nothing can be asked, so
// it has neither verdict nor limit.
func (u shown) verdictOfHold(o trial.Outcome, ambient float64) verdictView {
	if o.Hold == nil {
		return verdictView{Word: "not a hold", Class: "none"}
	}
	view := u.verdictOf(o.Verdict, o.Decision, o.LeakRate, o.LeakRate != nil || o.PressureRate != nil, ambient)
	view.Reservation = reservation(o)
	if view.Limit != "" {
		view.Against = strings.Join(present("Limit", view.Limit, "at", u.pressure(o.At), o.Sign), " ")
		if view.Chance != "" {
			view.Against += ", P(within) " + view.Chance
		}
		view.Against += "."
	}
	return view
}

func (u shown) verdictOf(v trial.Verdict, d *trial.Decision, rate *trial.LeakRate, resulted bool, ambient float64) verdictView {
	view := verdictView{Word: string(v), Class: string(v)}
	if v == trial.None {
		view.Class = "none"
		view.Word = "measured"
	}
	if !resulted && v != trial.Inconclusive {
		view.Word, view.Class = "no result", "none"
	}
	if d != nil {
		view.Limit = u.limit(d, ambient)
		if rate != nil {
			view.Chance = probability(d.PConform)
		}
		view.Rule, view.Next = d.Rule, d.Next
	}
	return view
}

// openNotes is how many notes of a hold are open in the list at least.
const openNotes = 2

func (s *Site) holdView(hold bench.HoldData, common scale) holdView {
	u := s.shown()
	ended := hold.Ended.In(u.location)
	view := holdView{
		ID:       hold.ID,
		Gauge:    hold.Gauge,
		Stamp:    hold.Ended.UTC().Format(time.RFC3339),
		Time:     ended.Format("2 Jan 15:04:05"),
		Sign:     hold.Sign,
		At:       u.pressure(hold.At),
		Of:       strings.Join(present(jointWords(hold.On), whenWords(hold.On.When)), ", "),
		Figure:   u.ofHold(hold),
		Verdict:  u.verdictOfHold(hold.Outcome, hold.On.Ambient),
		Voided:   hold.Voided,
		Notes:    hold.Notes,
		Pressing: pressing(hold.Outcome),
		Budget:   budgetOf(hold.Improvements()),
	}
	if hold.Unrecorded != "" {
		view.Notes = append([]string{"Not in the ledger: " + hold.Unrecorded}, view.Notes...)
	}
	// The first press most; one alone is not worth a fold.
	if open := max(openNotes, len(view.Pressing)); len(view.Notes) > open+1 {
		view.Notes, view.More = view.Notes[:open], view.Notes[open:]
	}
	view.Line, view.Area = common.outline(hold)
	return view
}

// reservation says how much of a disturbed hold its result speaks of; figures.js says
// the same.
func reservation(o trial.Outcome) string {
	after, cut := o.CutShort()
	switch {
	case cut:
		return "up to " + fixed(after, 1) + " s, then disturbed"
	case o.Disturbed:
		return "though disturbed"
	}
	return ""
}

// pressing are the notes that must stand beside a verdict.
func pressing(o trial.Outcome) []string { return o.Notes[:min(o.Pressing, len(o.Notes))] }

func (u shown) trialView(t *trial.Trial, ambient float64) *trialView {
	if t == nil || t.Holds == 0 {
		return nil
	}
	return &trialView{
		Holds:   t.Holds,
		Used:    t.Used,
		Figure:  u.ofTrial(t, ambient),
		Verdict: u.verdictOf(t.Verdict, t.Decision, t.LeakRate, t.LeakRate != nil, ambient),
		Notes:   t.Notes,
		Budget:  budgetOf(t.Improvements()),
	}
}

// jointWords names what is held.
func jointWords(s bench.Setup) string {
	return strings.Join(present(strings.TrimSpace(s.Instrument+" "+s.Joint), s.Section), ", ")
}

// whenWords says before or after which work.
func whenWords(when string) string { return strings.ReplaceAll(when, "_", " ") }

// subject says what lies on the bench, part by part.
func subject(s bench.Setup) []string {
	parts := present(jointWords(s), s.Closure)
	if len(parts) == 0 {
		parts = []string{"nothing named on the bench"}
	}
	return parts
}

// against says what holds are judged against.
func (u shown) against(s bench.Setup) []string {
	parts := []string{"no limit set"}
	if s.LimitSCCM > 0 {
		parts[0] = "limit " + u.limitSet(s)
	}
	parts = append(parts, "at "+u.pressure(statedAt(s)))
	if s.VolumeM3 > 0 {
		parts = append(parts, "volume "+u.volume(s.VolumeM3))
	} else {
		parts = append(parts, "no volume told: only the pressure rate can be given")
	}
	return parts
}

// ledgerWords says where records go and how old the last copy is.
func ledgerWords(l bench.LedgerState) string {
	if l.Path == "" {
		return ""
	}
	records := "records"
	if l.Records == 1 {
		records = "record"
	}
	return fmt.Sprintf("· ledger %s, %d %s, %s", l.Path, l.Records, records, copyAge(l.Copies))
}

// copyAge says how old the newest copy of the ledger is; app.js uses the same words.
func copyAge(c *bench.CopiesState) string {
	switch {
	case c == nil:
		return "no copies are made"
	case c.Newest.IsZero():
		return "no copy yet"
	case c.Age < 60:
		return "last copy just now"
	case c.Age < 3600:
		return fmt.Sprintf("last copy %.0f min ago", math.Floor(c.Age/60))
	case c.Age < 48*3600:
		return fmt.Sprintf("last copy %.0f h ago", math.Floor(c.Age/3600))
	}
	return fmt.Sprintf("last copy %.0f days ago", math.Floor(c.Age/86400))
}

// statedAt is the stated test pressure difference in Pa.
func statedAt(s bench.Setup) float64 {
	if s.At == 0 {
		return decay.DefaultAt
	}
	return math.Abs(s.At)
}

// plain writes a number that was told by a person: four digits are more than it has.
func plain(x float64) string {
	if x != 0 && (math.Abs(x) < 1e-3 || math.Abs(x) >= 1e6) {
		return fmt.Sprintf("%.4g", x)
	}
	text := fixed(x, 4-min(4, digitsBefore(x)))
	if strings.Contains(text, ".") {
		text = strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// digitsBefore counts the digits before the decimal point.
func digitsBefore(x float64) int {
	if math.Abs(x) < 1 {
		return 0
	}
	return int(math.Floor(math.Log10(math.Abs(x)))) + 1
}

func present(parts ...string) []string {
	var kept []string
	for _, part := range parts {
		if part != "" {
			kept = append(kept, part)
		}
	}
	return kept
}
