package rig

import (
	"math"

	"boretight/internal/air"
)

// templateHalfWidth is by how much the volume of a real joint may differ from that of
// its template's bore: chimneys of tone holes, hollows under pads, the stopper's own
// depth. Common practice, no source.
const templateHalfWidth = 0.15

// BoreVolume returns the volume of a template's bore, the rig not included, known to
// ±15 % as nothing says that small errors are likelier than large (a rectangle). It is
// for want of a measured one only.
func BoreVolume(stretches ...air.Taper) (Volume, error) {
	for _, s := range stretches {
		if !(s.Length > 0 && s.From > 0 && s.To > 0) {
			return Volume{}, &Refusal{doingVolume, "a stretch of the template's bore has no length or no diameter", "check the template's dimensions"}
		}
	}
	if len(stretches) == 0 {
		return Volume{}, &Refusal{doingVolume, "the template has no bore", "measure the volume with a syringe step"}
	}
	r := propagate(func(x []float64) float64 { return x[0] * x[1] }, []source{
		{name: "bore of the template", Measured: Measured{1, templateHalfWidth / math.Sqrt(3)}},
		{name: "bore", Measured: Measured{air.Volume(stretches...), 0}},
	})
	r.Doubts = []string{"The volume is that of a template's bore, good to ±15 %; a syringe step would tell it."}
	return Volume{r, ByBore, false}, nil
}
