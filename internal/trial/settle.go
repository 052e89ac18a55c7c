package trial

import (
	"fmt"
	"math"
	"strings"

	"boretight/internal/decay"
)

const (
	// mostHolds and mostSeconds are how much more is ever asked of a repairer.
	mostHolds   = 20
	mostSeconds = 120
)

// settlement is an undecided result, asked what would decide it if the leakage rate
// stayed where it is.
type settlement struct {
	q     decay.Estimate
	dof   float64
	lines []Line
	holds int
	limit Limit
	// stretch and tau are the length and the time constant of a hold in s; 0 when a
	// longer hold is not asked for.
	stretch, tau float64
}

// stretchOf is the length and the time constant of a hold, 0 and 0 if not both known.
func stretchOf(o Outcome) (stretch, tau float64) {
	if o.Hold == nil || o.TimeConstant == nil || !(o.TimeConstant.Value > 0) {
		return 0, 0
	}
	return o.Hold.End - o.Hold.Start, o.TimeConstant.Value
}

// next says what would settle it, in words to follow "to settle it:".
func (s settlement) next() string {
	away := float64(s.limit) - s.q.Value
	// The largest standard uncertainty that decides, with many degrees of freedom.
	need := math.Abs(away) / (student{}.quantile(sure) * leanOf(s.q).toward(away > 0))
	var own, common float64
	for _, l := range s.lines {
		if l.Shared {
			common = math.Hypot(common, l.U)
		} else {
			own = math.Hypot(own, l.U)
		}
	}
	if need > common {
		if text := s.more(need, common); text != "" {
			return text
		}
	}
	if common > own/2 {
		if text := s.better(need, own, common); text != "" {
			return text
		}
	}
	return fmt.Sprintf("nothing within reach: the leakage rate lies %.2g %% from the limit, and its standard uncertainty of %.2g %% would have to fall to %.2g %%",
		100*math.Abs(away)/float64(s.limit), 100*s.q.U/float64(s.limit), 100*need/float64(s.limit))
}

// more says how many more holds, or how many seconds more of one, would decide; empty
// when too many.
func (s settlement) more(need, common float64) string {
	var ways []string
	if n := s.moreHolds(); n > 0 {
		ways = append(ways, fmt.Sprintf("%d more %s of the same length", n, plural(n, "hold")))
	}
	if seconds := s.longer(need, common); seconds > 0 {
		ways = append(ways, fmt.Sprintf("hold %.0f s longer", seconds))
	}
	return strings.Join(ways, ", or ")
}

// moreHolds is how many more holds like these would decide; 0 when more than can be
// asked for. What varies averages over all of them, and its scatter is better known.
func (s settlement) moreHolds() int {
	away := float64(s.limit) - s.q.Value
	distance := math.Abs(away) / leanOf(s.q).toward(away > 0)
	have := float64(s.holds)
	for n := 1; n <= mostHolds; n++ {
		all := have + float64(n)
		lines := make([]Line, len(s.lines))
		for i, l := range s.lines {
			lines[i] = l
			if l.Shared {
				continue
			}
			lines[i].U *= math.Sqrt(have / all)
			if s.holds > 1 && varies(l.Source) && l.Source != sourceNoise {
				lines[i].Dof *= (all - 1) / (have - 1)
			} else {
				lines[i].Dof *= all / have
			}
		}
		u, dof := welchSatterthwaite(lines)
		if (student{dof}).cdf(distance/u) >= sure {
			return n
		}
	}
	return 0
}

// longer is how many seconds longer one hold would have to be to decide; 0 when the
// noise is not what a longer hold must lower, or when it cannot be lowered enough.
func (s settlement) longer(need, common float64) float64 {
	var noise, rest float64
	for _, l := range s.lines {
		switch {
		case l.Source == sourceNoise:
			noise = l.U
		case !l.Shared:
			rest = math.Hypot(rest, l.U)
		}
	}
	room := need*need - common*common - rest*rest
	if s.holds != 1 || !(s.stretch > 0) || !(room > 0) || noise <= rest {
		return 0
	}
	goal := knowledge(s.stretch/s.tau) * math.Sqrt(room) / noise
	low, high := s.stretch, s.stretch+mostSeconds
	if knowledge(high/s.tau) > goal {
		return 0
	}
	for high-low > 0.1 {
		if middle := (low + high) / 2; knowledge(middle/s.tau) > goal {
			low = middle
		} else {
			high = middle
		}
	}
	return math.Ceil(high - s.stretch)
}

// knowledge is f of the Cramér–Rao bound σ(k)/k = (σ/Δ0)·√(kδt)·f(kT) of a decay's
// rate from a hold of length T, its zero being known: the noise falls with it.
func knowledge(x float64) float64 {
	if x < 1e-3 {
		return math.Sqrt(12 / (x * x * x)) // the short hold; the rest loses its digits
	}
	e := math.Exp(-2 * x)
	i0, i1, i2 := (1-e)/2, (1-e*(1+2*x))/4, (1-e*(1+2*x+2*x*x))/4
	return math.Sqrt(i0 / (i0*i2 - i1*i1))
}

// better says which shared doubt decides and how well its source must be known;
// empty when none of them is to blame.
func (s settlement) better(need, own, common float64) string {
	var worst Line
	for _, l := range s.lines {
		if l.Shared && l.U > worst.U {
			worst = l
		}
	}
	size := math.Abs(s.q.Value)
	if size == 0 || worst.U == 0 {
		return ""
	}
	text := fmt.Sprintf("more holds will not help: the uncertainty of the %s decides (%.2g %% of the leakage rate); %s",
		worst.Source, 100*worst.U/size, advice(worst.Source))
	rest := own*own + common*common - worst.U*worst.U
	switch {
	case need*need > rest:
		return text + fmt.Sprintf(", to %.2g %% or better", 100*math.Sqrt(need*need-rest)/size)
	case need > common:
		return "" // it is not to blame alone, nor are the others
	}
	return text + "; that alone may not be enough, so near to the limit"
}

func plural(n int, word string) string {
	if n == 1 {
		return word
	}
	return word + "s"
}
