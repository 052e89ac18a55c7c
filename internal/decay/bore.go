package decay

import (
	"fmt"
	"math"
)

// The bore that is told says how fast the air in it takes the wall's warmth, and is
// believed closely. It may be wrong all the same: a radius told for a diameter, a hose
// told for what hangs on it. As with creep there is a wider twin, for one hold in ten.
const (
	boreWider, boreOdds = 4, 10.
	// heatStrain is from how far on, in standard deviations of what is believed of bore,
	// taper and hose together, it is worth asking.
	heatStrain = 3
)

// rebore solves again with the wider belief where the narrow one is strained or nothing
// was found under it, and keeps what comes of it where it is the likelier.
func (f *fitter) rebore() {
	settled := f.sol.stop == stopConverged
	if settled && f.heatStrain() < heatStrain {
		return
	}
	narrow := f.k.boreU
	f.k.boreU *= boreWider
	f.prepare() // for a wider range of bores
	wide := f.from(f.start)
	if wide.stop == stopConverged && (!settled || f.sol.sum-wide.sum > 2*math.Log(boreWider*boreOdds)) {
		f.sol, f.rebored = wide, true
		return
	}
	f.k.boreU = narrow
	f.prepare()
}

// heatStrain is how far the solution is from what is believed of all that shapes the
// heat, in standard deviations.
func (f *fitter) heatStrain() float64 {
	p := f.sol.p
	return math.Hypot(p[pBore]/f.k.boreU, math.Hypot((p[pTaper]-taperMean)/taperU, (p[pNarrow]-f.k.narrow)/f.k.narrowU))
}

// boreNote says that the air warms as in another bore than was told.
func (f *fitter) boreNote() string {
	return fmt.Sprintf("The air warms as in a bore of about %.2g mm, not of the %.2g mm told, which was left aside. Is it the diameter?",
		2e3*f.k.radius*math.Exp(f.post.mean[pBore]), 2e3*f.k.radius)
}
