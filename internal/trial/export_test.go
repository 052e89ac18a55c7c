package trial

// Conformity lets the tests hold the probability against published examples.
var Conformity = conformity

// Stated puts a made-up fit into the form that is printed.
var Stated = outcome

// These are held against published values.
var (
	WelchSatterthwaite = welchSatterthwaite
	Grubbs             = grubbs
	GrubbsCritical     = grubbsCritical
	Knowledge          = knowledge
	ToleranceFactor    = toleranceFactor
	ToleranceRank      = toleranceRank
)

// PoolOf tells what pool finds.
func PoolOf(values, own []float64, known Scatter) (between float64, weights []float64, dof float64) {
	p := pool(values, own, known)
	return p.between, p.weights, p.dof
}

// LayersOf takes scatter apart when nothing is known of it before.
func LayersOf(values, own []float64, plugging []int) (Repeatability, []Line) {
	l := layersOf(values, own, plugging, Repeatability{})
	return l.seen, l.lines
}

// Decided judges an outcome anew.
func Decided(o Outcome, limit Limit) Outcome {
	o.Verdict, o.Decision = decide(o, limit)
	return o
}

// Factor is the coverage factor below which a share of errors lies.
func Factor(dof, share float64) float64 { return student{dof}.quantile(share) }
