package bench

import "slices"

const (
	// recentSpan in s is how much of the past is kept for a page that opens in the
	// middle of a hold: a long hold with its draw.
	recentSpan = 90
	// recentPoints is how many points of it a page gets: one or two a pixel.
	recentPoints = 1800
)

// recent keeps the latest samples of a stream as pages were sent them.
type recent struct{ samples []Sample }

// push adds samples and lets go of those that are too old. Shifting at every call would
// move the whole store each time: it may grow by an eighth first.
func (r *recent) push(samples []Sample) {
	r.samples = append(r.samples, samples...)
	if newest := r.samples[len(r.samples)-1].T; newest-r.samples[0].T > recentSpan*9/8 {
		r.samples = slices.Delete(r.samples, 0, r.index(newest-recentSpan))
	}
}

// index is where the samples from time from on begin.
func (r *recent) index(from float64) int {
	i, _ := slices.BinarySearchFunc(r.samples, from, func(s Sample, t float64) int {
		if s.T < t {
			return -1
		}
		return 1
	})
	return i
}

// latest returns what a page draws of the last recentSpan, with samples that are not
// pushed yet at its end.
func (r *recent) latest(waiting []Sample) []Sample {
	all := slices.Concat(r.samples, waiting)
	if len(all) == 0 {
		return nil
	}
	from := all[len(all)-1].T - recentSpan
	kept := slices.IndexFunc(all, func(s Sample) bool { return s.T >= from })
	return thin(all[kept:], recentPoints)
}

// Recent returns the readings of a gauge in the last minute and a half, thinned for
// drawing, so that a page that opens in the middle of a hold can show all of it; none
// for a gauge that is not of this bench.
func (b *Bench) Recent(gauge string) []Sample {
	for _, l := range b.lines {
		if l.source.Name == gauge {
			l.drawnMu.Lock()
			defer l.drawnMu.Unlock()
			return l.recent.latest(l.drawn)
		}
	}
	return nil
}

// forgetRecent begins anew: what comes next may count by another clock.
func (l *line) forgetRecent() {
	l.drawnMu.Lock()
	defer l.drawnMu.Unlock()
	l.recent = recent{}
}
