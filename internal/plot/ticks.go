package plot

import "math"

// Ticks returns about want round values that label the range from low to high well.
// They may begin or end a little outside of it: an axis then reaches out to them. A
// range without extent has one; one that is not finite has none.
//
// Of all rows with a step of 1, 2 or 5 times a power of ten it is the best by the
// score of Talbot, Lin and Hanrahan (An Extension of Wilkinson's Algorithm for
// Positioning Tick Labels on Axes, IEEE Trans. Vis. Comput. Graph. 16(6), 2010):
// simple steps, a row as long as the range, and the number wanted. Their further
// steps (2.5, 3, 4 and skipping) are left out: a bench reads in 1, 2 and 5.
func Ticks(low, high float64, want int) []float64 {
	return bestRow(low, high, want, false).values()
}

// row is a row of ticks: count values from first·step on.
type row struct {
	first, count int
	digit, power int // step = digit·10^power
	single       float64
}

// bestRow finds the best row; inside: all of it from low to high.
func bestRow(low, high float64, want int, inside bool) row {
	if low > high {
		low, high = high, low
	}
	span := high - low
	if !finite(low) || !finite(high) || !finite(span) {
		return row{}
	}
	// Closer than that, neighbouring ticks would be the same number.
	if span <= 1e-12*max(math.Abs(low), math.Abs(high)) || span < 1e-280 {
		return row{count: 1, single: low + span/2}
	}
	want = min(max(want, 2), 20)
	var best row
	score := math.Inf(-1)
	for rank, digit := range []int{1, 5, 2} {
		for count := 2; count <= 2*want; count++ {
			power := int(math.Ceil(math.Log10(span / float64(count+1) / float64(digit))))
			for ; power <= int(math.Ceil(math.Log10(span))); power++ {
				r := row{count: count, digit: digit, power: power}
				step := r.step()
				reach := int(math.Ceil(low / step)) // lowest tick inside
				for r.first = reach - count; r.first <= reach+1; r.first++ {
					from, to := r.at(0), r.at(count-1)
					if inside && (from < low || to > high) {
						continue
					}
					if s := r.score(low, high, rank, want); s > score+1e-9 {
						best, score = r, s
					}
				}
			}
		}
	}
	if best.count == 0 {
		return row{count: 1, single: low + span/2} // not even two round numbers inside
	}
	return best
}

// score is the sum of equation 5 of the source, legibility left out: it is the same for all.
func (r row) score(low, high float64, rank, want int) float64 {
	from, to := r.at(0), r.at(r.count-1)
	span := high - low
	simplicity := 1 - float64(rank)/2 - 1
	if r.first <= 0 && r.first+r.count-1 >= 0 {
		simplicity++ // nought is among them
	}
	coverage := 1 - 0.5*(square(high-to)+square(low-from))/square(0.1*span)
	density := float64(r.count-1) / (to - from)
	wanted := float64(want-1) / (max(high, to) - min(low, from))
	closeness := 2 - max(density/wanted, wanted/density)
	return 0.25*simplicity + 0.2*coverage + 0.5*closeness
}

func (r row) step() float64 { return r.scaled(r.digit) }

// at is the i-th tick: of all floats the nearest to its decimal, so 3·0.1 is 0.3.
func (r row) at(i int) float64 {
	if r.digit == 0 {
		return r.single
	}
	return r.scaled((r.first + i) * r.digit)
}

func (r row) scaled(n int) float64 {
	if r.power < 0 {
		return float64(n) / math.Pow10(-r.power)
	}
	return float64(n) * math.Pow10(r.power)
}

func (r row) values() []float64 {
	var all []float64
	for i := range r.count {
		all = append(all, r.at(i))
	}
	return all
}

func square(x float64) float64 { return x * x }
