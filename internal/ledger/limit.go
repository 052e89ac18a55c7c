package ledger

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"boretight/internal/quantity"
)

// LimitSet is the kind of a record whose content is a [Limit].
const LimitSet RecordKind = "limit"

// Limit is what the shop accepts of a joint, in one closure, at one stated pressure
// difference and sign. The newest of them counts.
type Limit struct {
	ID string `json:"id"`
	// Joint is INSTRUMENT/JOINT. Section is the part of it that was held apart, Closure what
	// is plugged, taped or pressed; both are empty where holds tell none.
	Joint   string  `json:"joint"`
	Section string  `json:"section,omitempty"`
	Closure string  `json:"closure,omitempty"`
	At      float64 `json:"at_pa"`
	// Sign is suction or pressure.
	Sign string `json:"sign"`
	// Rate is the largest leakage rate that passes, as it was told.
	Rate quantity.LeakRate `json:"rate"`
	// Set is when, UTC.
	Set time.Time `json:"set"`
}

// Draft returns the limit as a record to append.
func (l Limit) Draft() Draft {
	return Draft{Kind: LimitSet, Content: l, About: []string{l.ID, l.Joint}}
}

// Same reports whether two limits are of the same: joint, section, closure, sign and stated
// pressure difference, whatever their rates. None stands for another: a section leaks less
// than the whole joint, and with a key pressed the joint leaks less than without.
func (l Limit) Same(other Limit) bool {
	return l.Joint == other.Joint && l.Section == other.Section && l.Closure == other.Closure &&
		l.Sign == other.Sign && sameDifference(l.At, other.At)
}

// Of names what the limit is of, for people.
func (l Limit) Of() string {
	of := l.Joint
	if l.Section != "" {
		of += fmt.Sprintf(", section %q", l.Section)
	}
	if l.Closure != "" {
		of += fmt.Sprintf(", closure %q", l.Closure)
	}
	return of
}

// sameDifference compares pressure differences as people state them, to six digits.
func sameDifference(a, b float64) bool { return fmt.Sprintf("%.6g", a) == fmt.Sprintf("%.6g", b) }

// LimitsInForce returns the limits of records that count now, in order of joint, section,
// closure, sign and pressure difference. Records of other kinds are left out; they must be in the order
// in which [Store.Records] gives them.
func LimitsInForce(records []Record) ([]Limit, error) {
	var all []Limit
	for _, r := range records {
		if r.Kind != LimitSet {
			continue
		}
		var l Limit
		if err := json.Unmarshal(r.Content, &l); err != nil {
			return nil, fmt.Errorf("read limit of record %d in chain %s: %w: %w", r.N, r.Chain, ErrDamaged, err)
		}
		all = slices.DeleteFunc(all, func(old Limit) bool { return old.Same(l) })
		all = append(all, l)
	}
	slices.SortFunc(all, func(a, b Limit) int {
		return cmp.Or(cmp.Compare(a.Joint, b.Joint), cmp.Compare(a.Section, b.Section), cmp.Compare(a.Closure, b.Closure), cmp.Compare(b.Sign, a.Sign), cmp.Compare(a.At, b.At))
	})
	return all, nil
}
