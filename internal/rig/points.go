package rig

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

const doingCalibration = "calibrate gauge"

// References nearer to each other than this share of the whole spread are the same
// height tried again.
const sameHeight = 0.02

// point is one height with the pairs taken there.
type point []Pair

// group sorts pairs into heights and refuses what no line can be trusted through.
func (g Gauge) group(pairs []Pair) ([]point, error) {
	if len(pairs) == 0 {
		return nil, &Refusal{doingCalibration, "no pairs at all", "take at least three heights, up and down"}
	}
	for i, p := range pairs {
		if err := g.admit(i, p); err != nil {
			return nil, err
		}
	}
	sorted := slices.SortedStableFunc(slices.Values(pairs), func(a, b Pair) int { return cmp.Compare(a.Reference, b.Reference) })
	low, high := sorted[0].Reference, sorted[len(sorted)-1].Reference
	spread, largest := high-low, max(math.Abs(low), math.Abs(high))
	if spread == 0 {
		return nil, &Refusal{doingCalibration, fmt.Sprintf("all %d pairs are at the same %.4g Pa", len(pairs), low), "a line needs at least three heights, spread over what holds use"}
	}
	if spread < largest/3 {
		return nil, &Refusal{doingCalibration,
			fmt.Sprintf("the heights lie on one side and spread over %.4g Pa only, at up to %.4g Pa: the slope would rest on the zero", spread, largest),
			"spread them over at least a third of the largest; zero counts as one"}
	}
	points := []point{{sorted[0]}}
	for _, p := range sorted[1:] {
		last := &points[len(points)-1]
		if p.Reference-(*last)[0].Reference > sameHeight*spread {
			points = append(points, point{p})
		} else {
			*last = append(*last, p)
		}
	}
	if len(points) < 3 {
		return nil, &Refusal{doingCalibration, "two heights only: every gauge is straight between two points", "take at least one more height between them"}
	}
	return points, nil
}

// admit refuses one pair that cannot be.
func (g Gauge) admit(i int, p Pair) error {
	for _, x := range []float64{p.Reference, p.ReferenceU, p.Reading, p.ReadingU} {
		if !(Measured{Value: x}).sound() {
			return &Refusal{doingCalibration, fmt.Sprintf("pair %d holds something that is not a number", i+1), ""}
		}
	}
	if p.ReferenceU < 0 || p.ReadingU < 0 {
		return &Refusal{doingCalibration, fmt.Sprintf("pair %d has an uncertainty below zero", i+1), ""}
	}
	if !slices.Contains([]Course{"", Up, Down}, p.Course) {
		return &Refusal{doingCalibration, fmt.Sprintf("pair %d is on course %q", i+1, p.Course), "say up, down or nothing"}
	}
	if g.Max <= g.Min {
		return nil // the gauge states no range
	}
	for _, x := range []float64{p.Reference, p.Reading} {
		if x < g.Min || x > g.Max {
			return &Refusal{doingCalibration,
				fmt.Sprintf("pair %d is at %.1f Pa, outside the gauge's range of %.1f to %.1f Pa", i+1, x, g.Min, g.Max),
				"leave this height out"}
		}
	}
	return nil
}

// scatter fills in what the residuals say: hysteresis, repeatability, nonlinearity.
func (c *Calibration) scatter(points []point) {
	var squares, free float64
	for _, p := range points {
		unmarked, up, down := c.residuals(p, ""), c.residuals(p, Up), c.residuals(p, Down)
		c.Nonlinearity = max(c.Nonlinearity, math.Abs(mean(c.residuals(p, "", Up, Down))))
		if len(up) > 0 && len(down) > 0 {
			c.Hysteresis = max(c.Hysteresis, math.Abs(mean(down)-mean(up)))
		}
		for _, group := range [][]float64{unmarked, up, down} {
			m := mean(group)
			for _, r := range group {
				squares += (r - m) * (r - m)
			}
			free += float64(max(len(group)-1, 0))
		}
	}
	if free > 0 {
		c.Repeatability = math.Sqrt(squares / free)
	}
}

// residuals are those of the pairs on the given courses.
func (c *Calibration) residuals(p point, courses ...Course) []float64 {
	var all []float64
	for _, q := range p {
		if slices.Contains(courses, q.Course) {
			all = append(all, q.Reference-q.Reading-c.Line.Value(q.Reading))
		}
	}
	return all
}

// mean is 0 of nothing.
func mean(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	return sum(x) / float64(len(x))
}

// doubt says in words what the numbers warn of; stated tells whether every pair says
// how well it repeats.
func (c *Calibration) doubt(stated bool) {
	span := c.To - c.From
	say := func(format string, args ...any) { c.Doubts = append(c.Doubts, fmt.Sprintf(format, args...)) }
	if c.Line.Dof < 4 {
		say("Only %d pairs: the scatter is hardly known. Six or more, up and down, make a calibration.", c.Pairs)
	}
	if stated && c.Line.Birge > 2 {
		say("The readings scatter %.1f times as much as was stated of them; the larger scatter counts. A bent gauge or a leak in the column does that.", c.Line.Birge)
	}
	if c.Hysteresis > 0.005*span {
		say("Rising and falling differ by %.1f Pa, more than 0.5 %% of the range: the gauge has hysteresis, or the water had not come to rest.", c.Hysteresis)
	}
	if c.Nonlinearity > 0.005*span {
		say("The gauge bends away from a straight line by %.1f Pa, more than 0.5 %% of the range.", c.Nonlinearity)
	}
	if i, off, found := Stray(c.Taken); found {
		say("Pair %d, at %.0f Pa, stands %+.0f Pa off the line of the others: was its height mistyped?", i+1, c.Taken[i].Reference, off)
	}
}
