package plot

import "math"

// Decimate leaves of points what columns of the given width can show: of each run of
// neighbours in one column the first, the lowest, the highest and the last, in their
// order. A line through what is left covers the same pixels as one through all
// (M4: Jugel, Jerzak, Hackenbroich and Markl, Proc. VLDB Endowment 7(10), 2014), so no
// spike is lost. Points that are not finite end a run and are kept, one in a row: they
// are gaps. Without a positive width everything is kept.
func Decimate(points []Point, column float64) []Point {
	if !(column > 0) || len(points) < 5 {
		return points
	}
	var kept []Point
	for from := 0; from < len(points); {
		if !points[from].finite() {
			if from == 0 || points[from-1].finite() {
				kept = append(kept, points[from])
			}
			from++
			continue
		}
		at, low, high, to := math.Floor(points[from].X/column), from, from, from+1
		for ; to < len(points) && points[to].finite() && math.Floor(points[to].X/column) == at; to++ {
			if points[to].Y < points[low].Y {
				low = to
			}
			if points[to].Y > points[high].Y {
				high = to
			}
		}
		kept = appendOnce(kept, points, from, min(low, high), max(low, high), to-1)
		from = to
	}
	return kept
}

// appendOnce appends the points at rising indices, each index once.
func appendOnce(kept, points []Point, indices ...int) []Point {
	last := -1
	for _, i := range indices {
		if i > last {
			kept = append(kept, points[i])
			last = i
		}
	}
	return kept
}

func (p Point) finite() bool { return finite(p.X) && finite(p.Y) }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
