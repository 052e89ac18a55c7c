package web

// Seams for tests of what has no door of its own.

var (
	Powered     = powered
	Probability = probability
	Plain       = plain
)

// Written returns value and uncertainty as they are shown.
func Written(v, u float64) (value, uncertainty string) {
	m := written(v, u)
	return m.Value, m.U
}
