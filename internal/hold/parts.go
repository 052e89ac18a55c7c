package hold

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"boretight/internal/trace"
)

// Parts says where the parts of a hold lie in its readings, so that the same hold can be
// made again from them: see [Assemble]. To find it anew would not do: a [Finder] that begins
// with the readings of one hold cuts it a little otherwise, for where a rest begins and what
// its level is hangs on what came before, and of that the hold keeps little.
type Parts struct {
	// From is the time of the first reading, Readings how many there are.
	From     time.Duration `json:"from_ns"`
	Readings int           `json:"readings"`
	Sign     Sign          `json:"sign"`
	// Draw, and both ends of Before, Held and After, are indices as in [Hold].
	Draw   int    `json:"draw"`
	Before [2]int `json:"before"`
	Held   [2]int `json:"held"`
	After  [2]int `json:"after"`
	// Isolation in s is 0 where Held is empty.
	Isolation float64 `json:"isolation_s,omitempty"`
	Ending    Ending  `json:"ending"`
	RestLevel float64 `json:"rest_level_pa"`
}

// Parts returns where the hold's parts lie.
func (h *Hold) Parts() Parts {
	p := Parts{
		Readings: len(h.Readings), Sign: h.Sign, Draw: h.Draw, Ending: h.Ending, RestLevel: h.RestLevel,
		Before: [2]int{h.Before.From, h.Before.To}, Held: [2]int{h.Held.From, h.Held.To}, After: [2]int{h.After.From, h.After.To},
	}
	if len(h.Readings) > 0 {
		p.From = h.Readings[0].T
	}
	if h.Isolated() {
		p.Isolation = h.Isolation
	}
	return p
}

// Assemble makes a hold again from readings among which its own are, whole and in order of
// time; it shares them. An error says in what way the parts are not of these readings.
func Assemble(tr trace.Trace, p Parts) (*Hold, error) {
	first, ok := slices.BinarySearchFunc(tr.Readings, p.From, func(r trace.Reading, t time.Duration) int { return cmp.Compare(r.T, t) })
	n := p.Readings
	switch {
	case !ok:
		return nil, fmt.Errorf("assemble a hold: none of %d readings is of %v, where it begins", len(tr.Readings), p.From)
	case n < 1 || n > len(tr.Readings)-first:
		return nil, fmt.Errorf("assemble a hold: it has %d readings, there are %d from where it begins", n, len(tr.Readings)-first)
	case p.Draw < 0 || p.Draw >= n:
		return nil, fmt.Errorf("assemble a hold: its draw at %d is none of its %d readings", p.Draw, n)
	}
	for _, s := range [...][2]int{p.Before, p.Held, p.After} {
		if s[0] < 0 || s[1] > n || s[0] > s[1] {
			return nil, fmt.Errorf("assemble a hold: the stretch from %d to %d is none of its %d readings", s[0], s[1], n)
		}
	}
	h := &Hold{
		Kind: tr.Kind, Sign: p.Sign, Readings: tr.Readings[first : first+n : first+n], Draw: p.Draw,
		Before: Span{p.Before[0], p.Before[1]}, Held: Span{p.Held[0], p.Held[1]}, After: Span{p.After[0], p.After[1]},
		Ending: p.Ending, RestLevel: p.RestLevel,
	}
	h.measure(p.Isolation)
	return h, nil
}

// UnmarshalText reads the word of [Ending.String].
func (e *Ending) UnmarshalText(text []byte) error {
	for known := Vented; known <= Cut; known++ {
		if known.String() == string(text) {
			*e = known
			return nil
		}
	}
	return fmt.Errorf("%q is no ending of a hold", text)
}
