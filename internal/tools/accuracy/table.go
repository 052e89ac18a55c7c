package main

import (
	"cmp"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"boretight/internal/gauge/sim"
)

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

// cleanHead is the head of the table of undisturbed families.
const cleanHead = `| family | holds | no result | median error % | 95th pct error % | median half-width % | 95 % held the truth % | 68 % held the truth % | false alarms % | z mean | z sd | isolation ms, median / 95th pct | ms a fit |
| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |`

func (t table) row(name string) string {
	var errs, widths, zs, iso, secs []float64
	disturbed := 0
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
	}
	n := len(errs)
	if n == 0 {
		return fmt.Sprintf("| %s | %d | %d | – | – | – | – | – | %.1f | – | – | – | – |", name, len(t), len(t), 100*float64(disturbed)/float64(len(t)))
	}
	mean, sd := moments(zs)
	return fmt.Sprintf("| %s | %d | %d | %.2f | %.2f | %.2f | %.1f | %.1f | %.1f | %.2f | %.2f | %.0f / %.0f | %.2f |", name, len(t), len(t)-n,
		quantile(errs, 0.5), quantile(errs, 0.95), quantile(widths, 0.5), t.coverage(stated), t.coverage(narrow), 100*float64(disturbed)/float64(len(t)), mean, sd,
		quantile(iso, 0.5), quantile(iso, 0.95), quantile(secs, 0.5))
}

// disturbedHead is the head of the table of disturbed families.
const disturbedHead = `| kind | holds | found % | in time | of these found % | no result | median error % | 95th pct error % | median half-width % | 95 % held the truth % | 68 % held the truth % | stretch ends after the event, s, median / 95th pct | ms a fit |
| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |`

func (t table) disturbedRow(name string) string {
	var errs, widths, late, secs []float64
	var found, inTime, both int
	for _, m := range t {
		if m.result.Disturbed {
			found++
		}
		if m.inTime {
			inTime++
			if m.result.Disturbed {
				both++
			}
		}
		secs = append(secs, 1000*m.seconds)
		if !m.found {
			continue
		}
		errs = append(errs, 100*math.Abs(m.err()))
		widths = append(widths, 100*(m.result.LeakRate.High-m.result.LeakRate.Low)/2/m.truth.LeakRate)
		if m.result.Disturbed && m.inTime && !math.IsNaN(m.when) {
			late = append(late, m.end-m.when)
		}
	}
	if len(errs) == 0 {
		return fmt.Sprintf("| %s | %d | %.1f | %d | – | %d | – | – | – | – | – | – | – |", name, len(t), 100*float64(found)/float64(len(t)), inTime, len(t))
	}
	ends := "–"
	if len(late) > 0 {
		ends = fmt.Sprintf("%.1f / %.1f", quantile(late, 0.5), quantile(late, 0.95))
	}
	return fmt.Sprintf("| %s | %d | %.1f | %d | %.1f | %d | %.2f | %.2f | %.2f | %.1f | %.1f | %s | %.1f |", name, len(t),
		100*float64(found)/float64(len(t)), inTime, 100*float64(both)/float64(max(inTime, 1)), len(t)-len(errs),
		quantile(errs, 0.5), quantile(errs, 0.95), quantile(widths, 0.5), t.coverage(stated), t.coverage(narrow), ends, quantile(secs, 0.5))
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
		if m.creep.Kappa > 0 {
			fmt.Printf(" creep %.4f in %.1f s", m.creep.Kappa, m.creep.Tau)
		}
		if !math.IsNaN(m.when) {
			fmt.Printf(" disturbed at %.1f s, used to %.1f s", m.when, m.end)
		}
		for _, c := range m.result.Budget[:min(4, len(m.result.Budget))] {
			fmt.Printf(" %s %.2f%%", c.Source, 100*c.URelative)
		}
		fmt.Println()
	}
}

// badness is |z|; no result is the worst, and a disturbance missed or imagined is as bad
// as a very wrong result.
func badness(m measured) float64 {
	const mistaken = 6
	switch {
	case !m.found:
		return math.Inf(1)
	case m.result.Disturbed != !math.IsNaN(m.truth.Disturbed):
		return max(math.Abs(m.z()), mistaken)
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
		sd += (x - mean) * (x - mean) / float64(max(len(v)-1, 1))
	}
	return mean, math.Sqrt(sd)
}
