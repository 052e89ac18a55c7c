package trial

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"boretight/internal/decay"
	"boretight/internal/hold"
)

// Terms are what a trial is judged by, beside its holds.
type Terms struct {
	// Limit on the leakage rate; 0 for none.
	Limit Limit
	// Known is what earlier trials on the rig told of its repeatability, see
	// [KnownOf]; the zero value is nothing.
	Known Repeatability
	// CheckRig says, if not empty, why the rig may judge nothing now: then there is no
	// pass or fail.
	CheckRig string
}

// errNoHolds is returned for a trial without holds.
var errNoHolds = errors.New("combine holds: there are none; measure one first")

// Pool makes one result of several holds of one joint in one closure: their mean,
// with its whole budget. What differs from hold to hold averages out, what they share
// (volume, span, rig, heat, law, creep) is kept whole, and their scatter beyond what
// each says of itself counts too.
//
// It returns [ErrUnlike] when the holds are not of one joint, closure, sign, stated
// pressure difference, volume and rig, and [ErrLimit] for a limit that is none.
// Holds without a leakage rate are counted and told, not used.
func Pool(members []Member, terms Terms) (Trial, error) {
	if len(members) == 0 {
		return Trial{}, errNoHolds
	}
	if err := terms.Limit.check(); err != nil {
		return Trial{}, fmt.Errorf("combine %d holds: %w", len(members), err)
	}
	if err := Alike(members...); err != nil {
		return Trial{}, err
	}
	outcomes, plugging := make([]Outcome, len(members)), make([]int, len(members))
	for i, m := range members {
		outcomes[i], plugging[i] = m.Outcome, m.Plugging
	}
	t := combine(outcomes, plugging, terms)
	t.withhold(terms.CheckRig)
	t.Joint, t.Closure, t.Rig = members[0].Joint, members[0].Closure, members[0].Rig
	if len(groupsOf(plugging)) == 1 && t.Used > 1 && !terms.Known.Replugging.told() {
		t.Notes = append(t.Notes, "The stoppers stayed in between the holds: how much a re-plugging would change is not in the uncertainty.")
	}
	return t, nil
}

func combine(outcomes []Outcome, plugging []int, terms Terms) Trial {
	t := Trial{Schema: SchemaTrial, Holds: len(outcomes), Notes: []string{}}
	place := t.choose(outcomes)
	t.Notes = append(t.Notes, pressing(outcomes)...)
	used, marks := make([]Outcome, len(place)), make([]int, len(place))
	for i, p := range place {
		used[i], marks[i] = outcomes[p], plugging[p]
	}
	if t.Used = len(used); t.Used == 0 {
		t.undecided(outcomes[0], terms.Limit)
		return t
	}
	t.Sign, t.At = used[0].Sign, used[0].At
	m, wide := mean(used, marks, terms.Known), ""
	if terms.Known != (Repeatability{}) {
		per, _ := perSCCM(used)
		wide = widening(len(used), m, mean(used, marks, Repeatability{}), per)
	}
	t.LeakRate = &LeakRate{Unit: "Pa·m³/s", Estimate: m.Estimate, Coverage: coverage}
	t.SCCM = sccm(used, m.Estimate)
	t.Budget, t.Repeatability = m.lines, m.seen
	if few(m.dof) {
		t.Dof = m.dof
	}
	t.Outliers = outliers(used, place)
	t.remark(used, m, wide)
	if terms.Limit > 0 {
		t.judge(used, m, terms.Limit)
	}
	return t
}

// undecided fills in the decision of a trial without any leakage rate.
func (t *Trial) undecided(first Outcome, limit Limit) {
	if limit <= 0 {
		return
	}
	t.Verdict = Inconclusive
	t.Decision = &Decision{Limit: float64(limit), Rule: rule, PConform: 0.5, Next: "a hold that gives a leakage rate", LimitSCCM: limitSCCM(limit, first)}
}

// judge applies the decision rule to the combined result.
func (t *Trial) judge(used []Outcome, m combined, limit Limit) {
	t.Decision = &Decision{
		Limit: float64(limit), LimitSCCM: limitSCCM(limit, used[len(used)-1]), Rule: rule,
		PConform: conformity(m.Estimate, m.dof, limit),
	}
	if t.Verdict = verdict(t.Decision.PConform); t.Verdict == Inconclusive {
		s := settlement{q: m.Estimate, dof: m.dof, lines: m.lines, holds: len(used), limit: limit}
		if len(used) == 1 {
			s.stretch, s.tau = stretchOf(used[0])
		}
		t.Decision.Next = s.next()
	}
}

// remark notes what a reader must know of the holds, of their scatter and of that of earlier
// trials.
func (t *Trial) remark(used []Outcome, m combined, wide string) {
	for _, o := range t.Outliers {
		t.Notes = append(t.Notes, o.Reason)
	}
	for _, text := range []string{wide, twoHolds(used, m)} {
		if text != "" {
			t.Notes = append(t.Notes, text)
		}
	}
}

// choose returns the places of the outcomes that have a leakage rate, and notes how
// many have none and which were cut short.
func (t *Trial) choose(outcomes []Outcome) (place []int) {
	var cut []string
	for i, o := range outcomes {
		if o.Hold != nil && o.Hold.Ending == hold.Cut.String() {
			cut = append(cut, name(o, i))
		}
		if o.LeakRate != nil && !math.IsNaN(o.LeakRate.Value) && o.LeakRate.U >= 0 {
			place = append(place, i)
		}
	}
	if len(cut) > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("Cut short, since the readings ended in mid-hold: %s.", strings.Join(cut, ", ")))
	}
	if skipped := len(outcomes) - len(place); skipped > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("%d of %d %s gave no leakage rate that could be combined.", skipped, len(outcomes), plural(len(outcomes), "hold")))
	}
	return place
}

// combined is a mean with its budget and its degrees of freedom.
type combined struct {
	decay.Estimate
	dof   float64
	lines []Line
	seen  *Repeatability
}

// mean combines leakage rates. One hold alone is itself, unless it is known how
// holds repeat.
func mean(used []Outcome, plugging []int, known Repeatability) combined {
	values, own, lines := make([]float64, len(used)), make([]float64, len(used)), make([][]Line, len(used))
	for i, o := range used {
		values[i], lines[i] = o.LeakRate.Value, linesOf(o)
		own[i], _ = split(o.Budget)
	}
	l := layersOf(values, own, plugging, known)
	m := combined{lines: append(inMeanOf(lines, l.weights), l.lines...)}
	if len(used) > 1 {
		alone := layersOf(values, own, plugging, Repeatability{}) // what was known is others' to tell
		m.seen = &alone.seen
	}
	var lean leaning
	for i, w := range l.weights {
		m.Value += w * values[i]
		lean.add(used[i].LeakRate.Estimate, w)
	}
	arrange(m.lines, m.Value)
	if len(used) == 1 && len(l.lines) == 0 {
		m.Estimate, m.dof = used[0].LeakRate.Estimate, used[0].Dof
		if m.dof == 0 {
			m.dof = math.Inf(1) // read back from where it is not kept
		}
		return m
	}
	m.U, m.dof = welchSatterthwaite(m.lines)
	k := student{m.dof}.quantile((1 + coverage) / 2)
	m.Low, m.High = m.Value-k*m.U*lean.low, m.Value+k*m.U*lean.high
	return m
}

// inMeanOf adds up the budgets of several results in their mean: what they share
// adds as it is, what varies as squares.
func inMeanOf(budgets [][]Line, weights []float64) (sum []Line) {
	for i, lines := range budgets {
		for _, l := range lines {
			j := slices.IndexFunc(sum, func(s Line) bool { return s.Source == l.Source })
			if j < 0 {
				j = len(sum)
				sum = append(sum, Line{Contribution: decay.Contribution{Source: l.Source}, Shared: l.Shared})
			}
			u := weights[i] * l.U
			if l.Shared {
				sum[j].U += u
				continue
			}
			both, dof := welchSatterthwaite([]Line{sum[j], {Contribution: decay.Contribution{U: u}, Dof: l.Dof}})
			sum[j].U, sum[j].Dof = both, 0
			if few(dof) {
				sum[j].Dof = dof
			}
		}
	}
	return sum
}
