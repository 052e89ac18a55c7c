package trial

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"boretight/internal/quantity"
)

// SchemaProposal is the schema of a [Proposal].
const SchemaProposal = "boretight/limit/1"

// ErrTooFew is returned when too few joints have passed to propose a limit from.
var ErrTooFew = errors.New("too few joints")

const (
	// fewestJoints is the least that a limit is proposed from: with fewer, the limit
	// says more of the shape that was assumed than of the joints.
	fewestJoints = 10
	// inLimit of joints as good as the shop's own shall meet the limit, with this
	// confidence.
	inLimit        = 0.90
	withConfidence = 0.95
	// farLog in robust standard deviations is where a joint is named as unlike the
	// others (Iglewicz and Hoaglin 1993: 3.5 of the median absolute deviation).
	farLog = 3.5
)

// PassedJoint is one joint that the shop was content with, as left.
type PassedJoint struct {
	// Name is what people know it by: a ticket or an instrument's number.
	Name string
	// LeakRate in Pa·m³/s and its standard uncertainty.
	LeakRate, U float64
}

// Proposal is a limit proposed from a shop's own passed joints.
type Proposal struct {
	Schema string `json:"schema"`
	// Limit in Pa·m³/s, rounded up to two digits.
	Limit float64 `json:"limit_pa_m3_s"`
	// Joints is how many it rests on; Share of joints like them meets it with Confidence.
	Joints     int     `json:"joints"`
	Share      float64 `json:"share"`
	Confidence float64 `json:"confidence"`
	// Method and its source, in words.
	Method string `json:"method"`
	// Far are joints that lie far above the others. They count all the same.
	Far      []string `json:"far,omitempty"`
	Sentence string   `json:"sentence"`
	Notes    []string `json:"notes"`
}

// Propose proposes a limit for a joint of one model at one stated pressure difference
// and sign: an upper tolerance limit, above 90 % of joints like those given with a
// confidence of 95 %. From 29 joints on it is one of the values themselves, whatever
// their distribution; with fewer, leakage rates are taken as log-normal.
//
// A joint that leaks less than its standard uncertainty counts as that: what cannot be
// measured must not pull the limit down. It returns [ErrTooFew] for fewer than ten.
func Propose(joints []PassedJoint) (Proposal, error) {
	for _, j := range joints {
		if math.IsNaN(j.LeakRate) || math.IsInf(j.LeakRate, 0) || !(j.U >= 0) || math.IsInf(j.U, 0) || max(j.LeakRate, j.U) <= 0 {
			return Proposal{}, fmt.Errorf("propose limit: joint %s: leakage rate %g ± %g Pa·m³/s is no measurement; leave it out", j.Name, j.LeakRate, j.U)
		}
	}
	n := len(joints)
	if n < fewestJoints {
		return Proposal{}, fmt.Errorf("propose limit from %d passed %s: %w: at least %d are needed; measure more, or set a limit by judgement",
			n, plural(n, "joint"), ErrTooFew, fewestJoints)
	}
	p := Proposal{Schema: SchemaProposal, Joints: n, Share: inLimit, Confidence: withConfidence, Notes: []string{}}
	rates := make([]float64, n)
	lost := 0
	for i, j := range joints {
		rates[i] = max(j.LeakRate, j.U)
		if j.LeakRate < j.U {
			lost++
		}
	}
	p.Limit = p.upper(rates)
	p.Far = far(joints, rates)
	p.remark(lost)
	p.Sentence = fmt.Sprintf("%g Pa·m³/s is a proposal from %d joints that this shop passed: 90 %% of joints like them lie below it, with a confidence of 95 %%. It is no published limit; none exists.", p.Limit, n)
	return p, nil
}

// upper is the tolerance limit; it fills in by which method.
func (p *Proposal) upper(rates []float64) float64 {
	n := len(rates)
	if rank := toleranceRank(n, inLimit, withConfidence); rank > 0 {
		p.Method = fmt.Sprintf("value %d of %d in rising order (order statistics, Wilks 1941)", rank, n)
		return roundUp(slices.Sorted(slices.Values(rates))[rank-1])
	}
	logs := make([]float64, n)
	for i, r := range rates {
		logs[i] = math.Log(r)
	}
	mean, s := stat.MeanStdDev(logs, nil)
	k := toleranceFactor(n, inLimit, withConfidence)
	p.Method = fmt.Sprintf("mean of the logarithms plus %.3f standard deviations (one-sided normal tolerance factor, ISO 16269-6)", k)
	return roundUp(math.Exp(mean + k*s))
}

// far names joints that leak far more than the others.
func far(joints []PassedJoint, rates []float64) (names []string) {
	logs := make([]float64, len(rates))
	for i, r := range rates {
		logs[i] = math.Log(r)
	}
	middle := median(logs)
	away := make([]float64, len(logs))
	for i, l := range logs {
		away[i] = math.Abs(l - middle)
	}
	spread := 1.4826 * median(away) // of a normal population, its standard deviation
	for i, l := range logs {
		if spread > 0 && l-middle > farLog*spread {
			names = append(names, joints[i].Name)
		}
	}
	return names
}

func (p *Proposal) remark(lost int) {
	if len(p.Far) > 0 {
		p.Notes = append(p.Notes, fmt.Sprintf("Far above the others: %s. They raise the proposal; look whether they should have passed.", strings.Join(p.Far, ", ")))
	}
	if lost > 0 {
		p.Notes = append(p.Notes, fmt.Sprintf("%d of %d leak less than their standard uncertainty and count as that: the proposal partly shows what the rig can measure.", lost, p.Joints))
	}
	p.Notes = append(p.Notes, "Joints that failed an earlier limit are not among these, so a proposal can hardly rise above the limit in force.")
}

func median(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// roundUp rounds up to two digits: a limit with more would look known better than it is.
func roundUp(x float64) float64 {
	step := math.Pow(10, math.Floor(math.Log10(x))-1)
	return rounded(math.Ceil(rounded(x/step)) * step)
}

// InSCCM restates the proposal for gas of a temperature.
func (p Proposal) InSCCM(gas quantity.Temperature) float64 {
	return quantity.Throughput(p.Limit).SCCM(gas)
}
