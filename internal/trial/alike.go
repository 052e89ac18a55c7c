package trial

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// ErrUnlike is returned when holds are not of one joint, closure, sign, stated
// pressure difference, volume and rig, so that no result is common to them.
var ErrUnlike = errors.New("holds of one trial must be alike")

// Limits that cannot be.
var ErrLimit = errors.New("a limit on a leakage rate must be a number above 0")

// NewLimit checks an upper limit in Pa·m³/s. A limit of 0 or below is refused: no
// joint can be shown to leak nothing, so that nothing would ever pass.
func NewLimit(rate float64) (Limit, error) {
	l := Limit(rate)
	if rate == 0 {
		return 0, fmt.Errorf("limit of 0 Pa·m³/s: %w; no measurement shows that a joint leaks nothing, so set the largest leakage rate that the shop accepts", ErrLimit)
	}
	if err := l.check(); err != nil {
		return 0, err
	}
	return l, nil
}

// check refuses what is neither a limit nor none.
func (l Limit) check() error {
	if x := float64(l); x < 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return fmt.Errorf("limit of %g Pa·m³/s: %w", x, ErrLimit)
	}
	return nil
}

// Member is one hold of a trial with what must be the same in all of them.
type Member struct {
	Outcome Outcome
	// Joint and Closure name what was held and what was plugged, taped or pressed.
	Joint, Closure string
	// Rig names the rig and its state, such as the record of its blank.
	Rig string
	// Volume is everything enclosed in m³; 0 when it was not told.
	Volume float64
	// Plugging counts the times that the stoppers were put in: holds with the same
	// number had them left in. 0 means not told.
	Plugging int
}

// Alike returns an error that wraps [ErrUnlike] where holds cannot make one trial; it names
// those that differ from the first, and in what.
func Alike(members ...Member) error {
	if len(members) == 0 {
		return nil
	}
	for _, a := range aspects() {
		first := a.of(members[0])
		var with []string
		for i, m := range members {
			if got := a.of(m); got != first {
				with = append(with, fmt.Sprintf("%s %s", name(m.Outcome, i), got))
			}
		}
		if len(with) > 0 {
			return fmt.Errorf("combine %d %s: %w: the %s differs: %s %s, but %s; make a trial of each",
				len(members), plural(len(members), "hold"), ErrUnlike, a.name, name(members[0].Outcome, 0), first, strings.Join(with, ", "))
		}
	}
	return nil
}

// aspect is one thing in which the holds of a trial must be alike.
type aspect struct {
	name string
	of   func(Member) string
}

func aspects() []aspect {
	return []aspect{
		{"joint", func(m Member) string { return told(m.Joint) }},
		{"closure", func(m Member) string { return told(m.Closure) }},
		{"sign", func(m Member) string { return told(m.Outcome.Sign) }},
		{"stated pressure difference", func(m Member) string { return fmt.Sprintf("%.6g Pa", m.Outcome.At) }},
		{"volume", func(m Member) string { return fmt.Sprintf("%.6g ml", m.Volume*1e6) }},
		{"rig", func(m Member) string { return told(m.Rig) }},
	}
}

func told(text string) string {
	if text == "" {
		return "(not told)"
	}
	return text
}

// name is what people know a hold by: its id, else its place, from 1.
func name(o Outcome, i int) string {
	if o.ID != "" {
		return "hold " + o.ID
	}
	return fmt.Sprintf("hold %d", i+1)
}
