package main

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
)

// timed is what one program made of the readings.
type timed struct {
	name    string
	a, k, c float64
	micros  []float64
}

func (t timed) median() float64 {
	s := slices.Sorted(slices.Values(t.micros))
	return s[len(s)/2]
}

// least is the time that the machine's other work disturbed least.
func (t timed) least() float64 { return slices.Min(t.micros) }

// repeated times a fit in µs.
func repeated(repeats int, fit func()) (micros []float64) {
	for range repeats {
		began := time.Now()
		fit()
		micros = append(micros, float64(time.Since(began).Nanoseconds())/1e3)
	}
	return micros
}

func ours(r readings, k float64, repeats int) (timed, error) {
	var e decay.Exponential
	micros := repeated(repeats, func() {
		if r.even {
			e = decay.FitExponentialGrid(r.t[1]-r.t[0], r.y, k)
		} else {
			e = decay.FitExponential(r.t, r.y, k)
		}
	})
	if e.Ending != decay.Settled {
		return timed{}, fmt.Errorf("fit %s ourselves: it %v", r, e.Ending)
	}
	return timed{name: "ours", a: e.A, k: e.K, c: e.C, micros: micros}, nil
}

// fullModel times [decay.Fit] on a simulated hold of 10 s, and beside it the exponential on
// the same hold.
func fullModel(perSecond float64, o options) error {
	f, err := sim.FamilyNamed("small-laminar")
	if err != nil {
		return err
	}
	s := f.Draw(rand.New(rand.NewPCG(o.seed, 3)))
	s.Sensor.Rate = perSecond
	s.Holds[0].Seconds = 10
	tr, truths, err := s.Run()
	if err != nil {
		return err
	}
	holds := hold.Find(tr)
	if len(holds) == 0 {
		return fmt.Errorf("no hold found in the simulated trace at %g readings a second", perSecond)
	}
	h, truth := holds[0], truths[0]
	setup := decay.Setup{
		Volume: decay.Input{Value: truth.Volume, U: 0.01 * truth.Volume}, Bore: decay.Input{Value: 2 * truth.Bore},
		Ambient: decay.Input{Value: truth.Ambient, U: 100}, Temperature: decay.Input{Value: truth.Temperature, U: 0.5},
	}
	var t, y []float64
	for _, r := range h.Readings[h.Held.From:h.Held.To] {
		t, y = append(t, r.Seconds()), append(y, r.Pressure)
	}
	simple := timed{micros: repeated(o.repeats, func() { decay.FitExponential(t, y, 0) })}
	var noted []string
	full := timed{micros: repeated(max(o.repeats/20, 5), func() {
		if r := decay.Fit(h, setup); r.LeakRate == nil {
			noted = r.Notes
		}
	})}
	if noted != nil {
		return fmt.Errorf("fit the full model at %g readings a second: %v", perSecond, noted)
	}
	fmt.Printf("| %d, a simulated hold | ours, no first value | %.1f | %.1f | 1 | | |\n", len(y), simple.median(), simple.least())
	fmt.Printf("| | full model | %.0f | %.0f | %.0f | | |\n", full.median(), full.least(), full.median()/simple.median())
	return nil
}
