// Package metrics says in numbers what a bench does, for Prometheus to scrape.
//
// A scrape reads one snapshot of the bench, which is memory: it never waits for a
// gauge, a fit or a disk. What a snapshot cannot hold, the distributions of how long
// things took, is told to [Metrics] as it happens; it is an observer of the bench.
//
//	m := metrics.New(version)
//	b, err := bench.New(bench.Options{…, Observers: []bench.Observer{m}})
//	err = m.Watch(b)
//	http.Handle("/metrics", m.Handler())
//
// Units are base units, names begin with boretight_, and label values come from what
// the shop configured and from fixed sets: no customer, no serial number. Each metric
// is described in dashboards/README.md.
package metrics

import (
	"fmt"
	"net/http"
	"runtime"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"boretight/internal/bench"
)

// Bench is what metrics see of a bench.
type Bench interface {
	Snapshot() bench.Snapshot
}

// Metrics is the registry of one program. Its methods may be called from several goroutines.
type Metrics struct {
	registry    *prometheus.Registry
	hold        prometheus.Histogram
	fit         prometheus.Histogram
	ledgerWrite prometheus.Histogram
}

// New returns metrics of a program of that version, which watch no bench yet.
func New(version string) *Metrics {
	m := &Metrics{
		// Pedantic: a metric that contradicts its description is an error, not a riddle on a dashboard.
		registry: prometheus.NewPedanticRegistry(),
		hold: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name:    "boretight_hold_duration_seconds",
			Help:    "Length of the held stretch, from isolation to vent. Moves when a hold ends.",
			Buckets: []float64{2, 5, 10, 15, 20, 30, 45, 60, 120},
		}),
		fit: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name:    "boretight_fit_duration_seconds",
			Help:    "Time that the final fit of a hold took. Moves when a hold ends.",
			Buckets: []float64{0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1, 3},
		}),
		ledgerWrite: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name:    "boretight_ledger_write_duration_seconds",
			Help:    "Time that one durable transaction of the ledger took. Moves about four times a second while a hold is recorded.",
			Buckets: []float64{0.0005, 0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1, 3},
		}),
	}
	build := prometheus.NewGauge(prometheus.GaugeOpts{
		Name:        "boretight_build_info",
		Help:        "Always 1; the labels say which program this is. Never moves.",
		ConstLabels: prometheus.Labels{"version": version, "goversion": runtime.Version()},
	})
	build.Set(1)
	// A fresh registry and four names that differ: there is nothing to go wrong.
	m.registry.MustRegister(m.hold, m.fit, m.ledgerWrite, build)
	return m
}

// Watch has each scrape read b. It may be called once.
func (m *Metrics) Watch(b Bench) error {
	if err := m.registry.Register(collector{b}); err != nil {
		return fmt.Errorf("watch bench: %w", err)
	}
	return nil
}

// Handler answers scrapes.
func (m *Metrics) Handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}

// Gatherer gives what a scrape would, for tests of the whole program.
func (m *Metrics) Gatherer() prometheus.Gatherer { return m.registry }

// HoldEnded counts a hold of that length.
func (m *Metrics) HoldEnded(held time.Duration) { m.hold.Observe(held.Seconds()) }

// FitTook counts a final fit that took so long.
func (m *Metrics) FitTook(d time.Duration) { m.fit.Observe(d.Seconds()) }

// LedgerWriteTook counts a durable transaction that took so long.
func (m *Metrics) LedgerWriteTook(d time.Duration) { m.ledgerWrite.Observe(d.Seconds()) }
