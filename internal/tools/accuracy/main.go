// Command accuracy measures the estimator against simulated holds of known
// truth, family by family, and prints a table for DEVELOPERS.md.
//
//	go run ./internal/tools/accuracy -n 500
//	go run ./internal/tools/accuracy -family wide -n 200 -worst 10
//
// The volume told is off by a normal error of the stated uncertainty, as a
// measured one would be; the gauge's span is exact. Equal seeds give equal tables.
package main

import (
	"cmp"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

type options struct {
	n       int
	seed    uint64
	volumeU float64
	worst   int
	cut     float64
}

func main() {
	var o options
	family := flag.String("family", "", "comma-separated families; empty means all undisturbed ones")
	flag.IntVar(&o.n, "n", 500, "holds of each family")
	flag.Uint64Var(&o.seed, "seed", 1, "seed of everything")
	flag.Float64Var(&o.volumeU, "volume-u", 0.01, "relative standard uncertainty of the told volume")
	flag.IntVar(&o.worst, "worst", 0, "list so many of the holds furthest off")
	flag.Float64Var(&o.cut, "cut", 0, "look at each hold so many seconds after isolation, as a running estimate does; 0 means at its end")
	flag.Parse()
	fmt.Println("| family | holds | no result | median error % | 95th pct error % | median half-width % | held the truth % | disturbed % | z mean | z sd | isolation ms, median / 95th pct | ms a fit |")
	fmt.Println("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
	for _, f := range sim.Families() {
		if *family == "" && f.Disturbed || *family != "" && !slices.Contains(strings.Split(*family, ","), f.Name) {
			continue
		}
		t := run(f, o)
		fmt.Println(t.row(f.Name))
		t.list(o.worst)
	}
}

// measured is what came of one hold.
type measured struct {
	index     int
	truth     sim.Truth
	result    decay.Result
	found     bool
	isolation float64 // error in s
	seconds   float64
	ending    hold.Ending
	creep     sim.Creep
	mark      float64 // what the disturbance left, over the noise; see marked
	when      float64 // s since isolation
}

func (m measured) err() float64 { return m.result.LeakRate.Value/m.truth.LeakRate - 1 }

func (m measured) z() float64 {
	return (m.result.LeakRate.Value - m.truth.LeakRate) / m.result.LeakRate.U
}

func (m measured) held() bool {
	q := m.result.LeakRate
	return q.Low <= m.truth.LeakRate && m.truth.LeakRate <= q.High
}

type table []measured

func run(f sim.Family, o options) table {
	out := make(table, o.n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.NumCPU() {
		wg.Go(func() {
			for i := range next {
				out[i] = one(f, o, i)
			}
		})
	}
	for i := range o.n {
		next <- i
	}
	close(next)
	wg.Wait()
	return out
}

// one draws, simulates and measures hold i of a family.
func one(f sim.Family, o options, i int) measured {
	random := rand.New(rand.NewPCG(o.seed, uint64(i)+1))
	s := f.Draw(random)
	tr, truths, err := s.Run()
	if err != nil {
		fmt.Fprintln(os.Stderr, "accuracy: error:", err)
		os.Exit(1)
	}
	m := measured{index: i, truth: truths[0], creep: s.Joint.Creep}
	m.mark = marked(s, tr, truths[0])
	m.when = truths[0].Disturbed - truths[0].Isolated
	holds := hold.Find(tr)
	if len(holds) == 0 {
		return m
	}
	h := holds[0]
	// A measured volume includes what creep gives way in the end.
	m.truth.Volume *= 1 + s.Joint.Creep.Kappa
	t := m.truth
	if o.cut > 0 {
		h = early(h, o.cut)
	}
	m.ending = h.Ending
	m.isolation = h.Isolation - t.Isolated
	setup := decay.Setup{
		Volume:      decay.Input{Value: t.Volume * (1 + o.volumeU*random.NormFloat64()), U: t.Volume * o.volumeU},
		Bore:        decay.Input{Value: 2 * t.Bore},
		Ambient:     decay.Input{Value: t.Ambient, U: 100},
		Temperature: decay.Input{Value: t.Temperature, U: 0.5},
		At:          t.StatedPa,
	}
	begin := time.Now()
	m.result = decay.Fit(h, setup)
	m.seconds = time.Since(begin).Seconds()
	m.found = m.result.LeakRate != nil
	return m
}

// marked is how plainly a disturbance shows: the root of the sum of squares of what
// it changes in the readings between isolation and vent, over the noise of one. It is
// what a test would have to go by that knew all but whether there was one.
func marked(s sim.Scenario, tr trace.Trace, t sim.Truth) float64 {
	if len(s.Events.Openings)+len(s.Events.Bumps)+len(s.Events.Lamps) == 0 {
		return 0
	}
	s.Events = sim.Events{}
	quiet, _, err := s.Run()
	if err != nil || len(quiet.Readings) != len(tr.Readings) {
		return math.NaN()
	}
	var sum float64
	for i, r := range tr.Readings {
		if r.Seconds() > t.Isolated && !(r.Seconds() > t.Vented) {
			d := r.Pressure - quiet.Readings[i].Pressure
			sum += d * d
		}
	}
	return math.Sqrt(sum) / math.Hypot(s.Sensor.Noise, s.Sensor.Step/math.Sqrt(12))
}

// early is the hold as it looked some seconds after isolation.
func early(h *hold.Hold, seconds float64) *hold.Hold {
	e := *h
	for e.Held.To > e.Held.From && h.Readings[e.Held.To-1].Seconds() > h.Isolation+seconds {
		e.Held.To--
	}
	e.Readings, e.After, e.Ending = h.Readings[:e.Held.To], hold.Span{}, hold.Cut
	return &e
}

func (t table) row(name string) string {
	var errs, widths, zs, iso, secs []float64
	held, disturbed := 0, 0
	for _, m := range t {
		if m.result.Disturbed {
			disturbed++
		}
		if !m.found {
			continue
		}
		errs = append(errs, 100*math.Abs(m.err()))
		widths = append(widths, 100*(m.result.LeakRate.High-m.result.LeakRate.Low)/2/m.truth.LeakRate)
		zs = append(zs, m.z())
		iso = append(iso, 1000*math.Abs(m.isolation))
		secs = append(secs, 1000*m.seconds)
		if m.held() {
			held++
		}
	}
	n := len(errs)
	if n == 0 {
		return fmt.Sprintf("| %s | %d | %d |", name, len(t), len(t))
	}
	mean, sd := moments(zs)
	return fmt.Sprintf("| %s | %d | %d | %.2f | %.2f | %.2f | %.1f | %.1f | %.2f | %.2f | %.0f / %.0f | %.2f |", name, len(t), len(t)-n,
		quantile(errs, 0.5), quantile(errs, 0.95), quantile(widths, 0.5), 100*float64(held)/float64(n), 100*float64(disturbed)/float64(len(t)), mean, sd,
		quantile(iso, 0.5), quantile(iso, 0.95), quantile(secs, 0.5))
}

// list prints the holds furthest off, for looking into.
func (t table) list(n int) {
	if n == 0 {
		return
	}
	s := slices.Clone(t)
	slices.SortFunc(s, func(a, b measured) int { return cmp.Compare(badness(b), badness(a)) })
	for _, m := range s[:min(n, len(s))] {
		if !m.found {
			fmt.Printf("  #%d no result, %v: %v\n", m.index, m.ending, m.result.Notes)
			continue
		}
		for _, note := range m.result.Notes {
			fmt.Println("   ", note)
		}
		fmt.Printf("  #%d z %.1f err %.2f%% iso %.0f ms %v tau %.2f s V %.0f ml bore %.1f mm s %.2f→%.2f±%.2f Δ %.0f..%.0f budget", m.index, m.z(), 100*m.err(),
			1000*m.isolation, m.ending, m.truth.TimeConstant, 1e6*m.truth.Volume, 2e3*m.truth.Bore, m.truth.InertialShare, m.result.InertialShare.Value, m.result.InertialShare.U, m.result.DeltaStart, m.result.DeltaEnd)
		if m.mark > 0 {
			fmt.Printf(" at %.1f s mark %.0f", m.when, m.mark)
		}
		fmt.Printf(" creep %.4f/%.1fs", m.creep.Kappa, m.creep.Tau)
		for _, c := range m.result.Budget[:4] {
			fmt.Printf(" %s %.2f%%", c.Source, 100*c.URelative)
		}
		fmt.Println()
	}
}

func badness(m measured) float64 {
	if !m.found || m.result.Disturbed != !math.IsNaN(m.truth.Disturbed) {
		return math.Inf(1)
	}
	return math.Abs(m.z())
}

func quantile(v []float64, q float64) float64 {
	s := slices.Sorted(slices.Values(v))
	return s[min(int(q*float64(len(s))), len(s)-1)]
}

func moments(v []float64) (mean, sd float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sd += (x - mean) * (x - mean) / float64(len(v)-1)
	}
	return mean, math.Sqrt(sd)
}
