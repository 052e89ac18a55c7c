package rig

// Source is an input of [Propagate].
type Source struct {
	Name     string
	Value, U float64
	Dof      float64
}

// Propagate gives tests the GUM propagation with a model of their own.
func Propagate(f func(x []float64) float64, sources ...Source) Result {
	all := make([]source, len(sources))
	for i, s := range sources {
		all[i] = source{s.Name, Measured{s.Value, s.U}, s.Dof}
	}
	return propagate(f, all)
}

// MonteCarloInputs are the model of a column and its inputs at a height.
func (c Column) MonteCarloInputs(height float64) (func(x []float64) float64, []Measured) {
	return columnModel, measures(c.sources(height))
}

func measures(sources []source) []Measured {
	all := make([]Measured, len(sources))
	for i, s := range sources {
		all[i] = s.Measured
	}
	return all
}

// MonteCarloInputs are the model of a syringe step and its inputs.
func (s SyringeStep) MonteCarloInputs() (func(x []float64) float64, []Measured) {
	return s.model(), measures(s.sources(newHeatLag(s.Bore, s.Ambient.Value, s.Temperature)))
}

// MonteCarloInputs are the model of an added leak and its inputs.
func (a AddedLeak) MonteCarloInputs() (func(x []float64) float64, []Measured, error) {
	q, err := a.Leak.Here(a.Room)
	return addedModel, measures(a.sources(q)), err
}
