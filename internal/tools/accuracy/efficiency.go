package main

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// efficient is what repeating one hold with fresh noise gave, all relative to the true
// leakage rate and squared.
type efficient struct {
	index   int
	bound   bound
	tried   int
	found   int
	scatter float64 // variance of the estimates
	error2  float64 // mean squared error
	u2      float64 // mean of the squared standard uncertainties stated
	noise   float64 // Pa
}

func (e efficient) kT() float64 { return e.bound.held / e.bound.tau }

// closed is the relative standard deviation of a plain exponential with the given f.
func (e efficient) closed(f func(kT float64) float64) float64 {
	b := e.bound
	return e.noise / b.start * math.Sqrt(b.intervals/b.tau) * f(e.kT())
}

// clean is a small joint, white noise and a good vent. The leak has the inertial share
// told, 0 for a laminar one, and all else is as it is believed in the mean; or, if drawn,
// all comes from anywhere in what is believed.
func clean(random *rand.Rand, o options) (told, unknowns, error) {
	f, err := sim.FamilyNamed("small-laminar")
	if err != nil {
		return told{}, unknowns{}, err
	}
	base := f.Draw(random)
	k := told{base: base, volume: base.Joint.Volume(), radius: base.Joint.Bore()}
	at := unknowns{start: base.Holds[0].Draw.To, share: o.share}
	bore := base.Air.Ambient - sim.StatedPa
	if base.Holds[0].Sign == sim.Pressure {
		bore = base.Air.Ambient + sim.StatedPa
	}
	for _, seat := range base.Leaks {
		at.rate += math.Abs(seat.Throughput(bore, base.Air))
	}
	b := k.beliefs(at.rate)
	at.taper, at.narrow = b.taper.mean, b.narrow.mean
	if o.drawn {
		at.share, at.bore, at.taper = b.share.draw(random), b.bore.draw(random), b.taper.draw(random)
		at.narrow, at.warm = max(b.narrow.draw(random), 1e-3), b.warm.draw(random)
		// One of the four, twice as large: mean and covariance are the same.
		j := random.IntN(len(b.creep))
		at.creep[j] = 2 * b.creep[j].draw(random)
	}
	return k, at, nil
}

// repeat measures one hold many times.
func repeat(o options, i int) (efficient, error) {
	random := rand.New(rand.NewPCG(o.seed, uint64(i)+1))
	k, at, err := clean(random, o)
	if err != nil {
		return efficient{}, err
	}
	e := efficient{index: i, noise: k.base.Sensor.Noise, tried: o.repeats}
	if e.bound, err = k.bound(at, e.noise); err != nil {
		return efficient{}, err
	}
	quiet, truth, err := k.curve(at)
	if err != nil {
		return efficient{}, err
	}
	var errs []float64
	for range o.repeats {
		r, ok := k.fit(random, quiet, truth, e.noise)
		if !ok {
			continue
		}
		x := r.LeakRate.Value/truth.LeakRate - 1
		errs = append(errs, x)
		e.error2 += x * x
		e.u2 += math.Pow(r.LeakRate.U/truth.LeakRate, 2)
	}
	e.found = len(errs)
	_, sd := moments(errs)
	e.scatter = sd * sd
	e.error2 /= float64(e.found)
	e.u2 /= float64(e.found)
	return e, nil
}

// fit adds fresh noise to a quiet hold and measures it, the volume told exactly.
func (k told) fit(random *rand.Rand, quiet trace.Trace, truth sim.Truth, noise float64) (decay.Result, bool) {
	tr := quiet
	tr.Readings = make([]trace.Reading, len(quiet.Readings))
	for i, r := range quiet.Readings {
		r.Pressure += noise * random.NormFloat64()
		tr.Readings[i] = r
	}
	holds := hold.Find(tr)
	if len(holds) == 0 {
		return decay.Result{}, false
	}
	r := decay.Fit(holds[0], decay.Setup{
		Volume: decay.Input{Value: k.volume}, Bore: decay.Input{Value: 2 * k.radius},
		Ambient: decay.Input{Value: truth.Ambient}, Temperature: decay.Input{Value: truth.Temperature}, At: truth.StatedPa,
	})
	return r, r.LeakRate != nil
}

// efficiency repeats many holds and prints how near the estimates come to the bound.
func efficiency(o options) error {
	out := make([]efficient, o.n)
	errs := make([]error, o.n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.NumCPU() {
		wg.Go(func() {
			for i := range next {
				out[i], errs[i] = repeat(o, i)
			}
		})
	}
	for i := range o.n {
		next <- i
	}
	close(next)
	wg.Wait()
	for i, err := range errs {
		if err != nil {
			return fmt.Errorf("hold %d: %w", i, err)
		}
	}
	fmt.Println(efficiencyHead)
	edges := [...]float64{0, 0.2, 0.5, 1, 2, 4, math.Inf(1)}
	for j := range len(edges) - 1 {
		var part []efficient
		for _, e := range out {
			if e.kT() >= edges[j] && e.kT() < edges[j+1] {
				part = append(part, e)
			}
		}
		fmt.Println(efficiencyRow(fmt.Sprintf("%g–%g", edges[j], edges[j+1]), part))
	}
	fmt.Println(efficiencyRow("all", out))
	listInefficient(out, o.worst)
	return nil
}

// listInefficient prints the holds whose scatter is furthest above the bound's.
func listInefficient(all []efficient, n int) {
	slices.SortFunc(all, func(a, b efficient) int {
		return cmp.Compare(b.scatter/b.bound.scatter, a.scatter/a.bound.scatter)
	})
	for _, e := range all[:min(n, len(all))] {
		fmt.Printf("  #%d kT %.2f tau %.2f s noise %.2f Pa every %.0f ms: bound %.3f %%, rms %.3f %%, u %.3f %%; noise alone: bound %.4f %%, scatter %.4f %%\n",
			e.index, e.kT(), e.bound.tau, e.noise, 1000*e.bound.intervals, 100*math.Sqrt(e.bound.variance), 100*math.Sqrt(e.error2), 100*math.Sqrt(e.u2),
			100*math.Sqrt(e.bound.scatter), 100*math.Sqrt(e.scatter))
	}
}

const efficiencyHead = `| kT | holds | fits | no result | σ(k)/k closed form, zero known % | zero unknown % | bound of the model % | rms error % | u stated % | squared error / bound | variance / that of an efficient estimate | u² / bound |
| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |`

// efficiencyRow gives medians of the deviations and means of the ratios.
func efficiencyRow(name string, part []efficient) string {
	if len(part) == 0 {
		return fmt.Sprintf("| %s | 0 | 0 | 0 | – | – | – | – | – | – | – | – |", name)
	}
	var known, unknown, bounds, rms, us, mse, scatter, u2 []float64
	fits, lost := 0, 0
	for _, e := range part {
		fits += e.found
		lost += e.tried - e.found
		known = append(known, 100*e.closed(knownZero))
		unknown = append(unknown, 100*e.closed(unknownZero))
		bounds = append(bounds, 100*math.Sqrt(e.bound.variance))
		rms = append(rms, 100*math.Sqrt(e.error2))
		us = append(us, 100*math.Sqrt(e.u2))
		mse = append(mse, e.error2/e.bound.variance)
		scatter = append(scatter, e.scatter/e.bound.scatter)
		u2 = append(u2, e.u2/e.bound.variance)
	}
	mean := func(v []float64) float64 { m, _ := moments(v); return m }
	return fmt.Sprintf("| %s | %d | %d | %d | %.3f | %.3f | %.3f | %.3f | %.3f | %.3f | %.3f | %.3f |", name, len(part), fits, lost,
		quantile(known, 0.5), quantile(unknown, 0.5), quantile(bounds, 0.5), quantile(rms, 0.5), quantile(us, 0.5), mean(mse), mean(scatter), mean(u2))
}
