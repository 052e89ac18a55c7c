// Command early measures what early verdicts are worth: how often they are wrong,
// though every look may decide, and how soon they come, beside a hold of fixed length
// that is judged once and is wrong as rarely.
//
//	go run ./internal/tools/early -n 2000
//
// Joints are those of the undisturbed simulated families; the limit is set so that the
// leak is the stated multiple of it. Looks come five times a second.
package main

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"sync"
	"time"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trial"
)

func main() {
	n := flag.Int("n", 2000, "joints at each multiple of the limit")
	seed := flag.Uint64("seed", 1, "seed of everything")
	family := flag.String("family", "mixture", "the simulated family")
	flag.Parse()
	f, err := sim.FamilyNamed(*family)
	if err != nil {
		fmt.Fprintln(os.Stderr, "early: error:", err)
		os.Exit(1)
	}
	fmt.Println("| leak / limit | joints | early verdicts | wrong % | time to verdict s, median / 90th pct | fixed hold of equal risk s | µs a look, median / 99th pct |")
	fmt.Println("| --- | --- | --- | --- | --- | --- | --- |")
	for _, ratio := range []float64{0.5, 0.8, 1.25, 2} {
		fmt.Println(row(ratio, run(f, ratio, *n, *seed)))
	}
}

// joint is what came of one hold.
type joint struct {
	looks []seen
	cost  []float64 // µs
	truth float64
}

// seen is one look.
type seen struct {
	t float64 // s since isolation
	q decay.Estimate
}

func run(f sim.Family, ratio float64, n int, seed uint64) []joint {
	out := make([]joint, n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.NumCPU() {
		wg.Go(func() {
			for i := range next {
				out[i] = watch(f, seed, i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return out
}

// watch simulates joint i and looks at its hold five times a second.
func watch(f sim.Family, seed uint64, i int) joint {
	const lookEvery = 0.2
	random := rand.New(rand.NewPCG(seed, uint64(i)+1))
	s := f.Draw(random)
	tr, truths, err := s.Run()
	if err != nil {
		return joint{}
	}
	holds := hold.Find(tr)
	if len(holds) == 0 || !holds[0].Isolated() {
		return joint{}
	}
	h, t := holds[0], truths[0]
	volume := t.Volume * (1 + s.Joint.Creep.Kappa) * (1 + 0.01*random.NormFloat64())
	running := decay.NewRunning(decay.Setup{
		Volume: decay.Input{Value: volume, U: 0.01 * volume}, Bore: decay.Input{Value: 2 * t.Bore},
		Ambient: decay.Input{Value: t.Ambient, U: 100}, Temperature: decay.Input{Value: t.Temperature, U: 0.5}, At: t.StatedPa,
	})
	j := joint{truth: t.LeakRate}
	part := *h
	part.After, part.Ending = hold.Span{}, hold.Cut
	part.Held.To = part.Held.From
	for at := lookEvery; part.Held.To < h.Held.To; at += lookEvery {
		for part.Held.To < h.Held.To && h.Readings[part.Held.To].Seconds() < h.Isolation+at {
			part.Held.To++
		}
		part.Readings = h.Readings[:part.Held.To]
		began := time.Now()
		r, ok := running.Look(&part)
		if cost := time.Since(began); ok && r.LeakRate != nil {
			j.cost = append(j.cost, float64(cost.Microseconds()))
			j.looks = append(j.looks, seen{at, *r.LeakRate})
		}
	}
	return j
}

func row(ratio float64, joints []joint) string {
	var times, costs []float64
	wrong, decided := 0, 0
	for _, j := range joints {
		limit := j.truth / ratio
		costs = append(costs, j.cost...)
		for _, l := range j.looks {
			v := trial.Early(l.q, trial.Limit(limit))
			if v == trial.Inconclusive {
				continue
			}
			decided++
			times = append(times, l.t)
			if (v == trial.Pass) != (ratio < 1) {
				wrong++
			}
			break
		}
	}
	risk := float64(wrong) / float64(max(decided, 1))
	return fmt.Sprintf("| %g | %d | %d | %.2f | %.1f / %.1f | %s | %.0f / %.0f |", ratio, len(joints), decided, 100*risk,
		quantile(times, 0.5), quantile(times, 0.9), fixed(joints, ratio, risk, decided), quantile(costs, 0.5), quantile(costs, 0.99))
}

// fixed is the shortest hold of one length for all that decides as many joints, judged
// once, as often wrong as risk at most.
func fixed(joints []joint, ratio, risk float64, enough int) string {
	for t := 0.8; t < 40; t += 0.2 {
		wrong, decided := 0, 0
		for _, j := range joints {
			limit := j.truth / ratio
			i, _ := slices.BinarySearchFunc(j.looks, t+1e-9, func(s seen, t float64) int {
				if s.t <= t {
					return -1
				}
				return 1
			})
			if i == 0 {
				continue
			}
			q := j.looks[i-1].q
			if z := (limit - q.Value) / q.U; math.Abs(z) > 1.645 {
				decided++
				if (z > 0) != (ratio < 1) {
					wrong++
				}
			}
		}
		if decided >= enough && float64(wrong) <= max(risk, 0.05)*float64(decided) {
			return fmt.Sprintf("%.1f", t)
		}
	}
	return "–"
}

func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(v))
	return s[min(int(q*float64(len(s))), len(s)-1)]
}
