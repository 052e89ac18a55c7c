// Package web serves the page of one bench, its JSON API and its live stream.
//
// [New] makes a [Site] from what it may look at; [Site.Serve] serves it until its
// context ends. The site reads: it holds no state of the bench, asks the bench for a
// snapshot when it needs one, and passes on the bench's events as they come.
//
//	GET /                  the page; useful without script, live with it
//	GET /static/           its script, style and icon, embedded in the program
//	GET /holds, /trials    lists; ?words=…&verdict=…&when=…&before=ID
//	GET /holds/{id}        one hold redrawn from its readings; …/trace.csv has them; POST …/void sets it aside
//	GET /trials/{id}       one trial with its holds; /compare?found=ID&left=ID two of them
//	GET /print/…/{ticket}  slip and label of a visit
//	GET /parts/holds       the list of holds as the page shows it, for its script
//	GET /parts/rig         what is on record of the rig, likewise
//	GET /api/v1/snapshot   bench.Snapshot; ?gauge=NAME&holds=N for fewer holds in it
//	GET /api/v1/readings   the last minute or so of ?gauge=NAME, for a page that opens
//	GET /api/v1/holds      holds, newest first; ?before=ID&limit=N
//	GET /api/v1/holds/{id} one hold
//	GET /api/v1/rig        how the rig of each gauge stands
//	GET /api/v1/live       server-sent events, see below
//	GET /metrics           for Prometheus
//	GET /healthz, /readyz  alive; able to record
//
// # The live stream
//
// Events are named reading, state, estimate, hold and trial, each with the bench's
// number as its id. The data of reading is an array of {gauge, t_s, pressure_pa};
// that of the others is the JSON of the type named at [bench.EventKind]. A reader who
// comes back with Last-Event-ID (or ?after=ID) gets what it missed as far as it is
// still kept. Whoever reads too slowly gets coarser batches: readings joined and
// thinned, only the latest state and estimate; and an event gap, {"missed", "thinned"},
// after which it should ask for a snapshot. An event heartbeat comes at least every
// second of silence. Gap and heartbeat have no id: they are not the bench's.
//
// # Who may look
//
// Requests must name a host from a short list, so that no foreign name can be pointed
// at this machine; what writes must come from the page itself; and with a token set,
// which [Site.Serve] insists on off loopback, as it does on TLS, each request must prove
// to know it.
// Nothing is ever fetched from elsewhere.
package web

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net/http"

	"boretight/internal/bench"
)

// Bench is what the site sees of a bench.
type Bench interface {
	// Snapshot returns a copy of the present state.
	Snapshot() bench.Snapshot
	// Recent returns a gauge's readings of the last minute or so, as few as a page draws.
	Recent(gauge string) []bench.Sample
	// Subscribe returns the events from now on.
	Subscribe(buffer int) *bench.Subscription
	// SubscribeFrom returns the events after the one numbered id, as far as they are kept.
	SubscribeFrom(id uint64, buffer int) *bench.Subscription
}

// Ledger is what the site reads of the stored log.
type Ledger interface {
	// Holds returns up to limit holds, newest first, that ended before the hold
	// named before; an empty name means from the newest on.
	Holds(ctx context.Context, before string, limit int) ([]bench.HoldData, error)
	// Hold returns one hold, or an error that is ErrNoHold.
	Hold(ctx context.Context, id string) (bench.HoldData, error)
}

// ErrNoHold is returned by a Ledger when it has no hold of that name.
var ErrNoHold = errors.New("no such hold")

// Options is what a site is made of. Only Bench is needed.
type Options struct {
	Bench  Bench
	Ledger Ledger // nil: only the holds that the snapshot carries
	Desk   Desk   // nil: pages can only be looked at
	// Metrics answers /metrics; nil: no such page.
	Metrics http.Handler
	// Logger takes what an operator would act on; nil: nothing is logged.
	Logger *slog.Logger
	// Version of the program, shown in the page's foot.
	Version string
	// Token is demanded of every request when set.
	Token string
	// Hosts are names, beside those of loopback, under which the site may be asked for.
	Hosts []string
	// TLS holds the certificate to serve with; nil: plain http, on loopback only.
	TLS *tls.Config
	// House returns what the shop has chosen; nil: nothing.
	House func() House
}

// Site is the page and the API. Its methods may be called from several goroutines.
type Site struct {
	bench   Bench
	ledger  Ledger
	desk    Desk
	logger  *slog.Logger
	version string
	token   string
	hosts   hostList
	tls     *tls.Config
	house   func() House
	views   *template.Template
	handler http.Handler
}

// New makes a site. It starts nothing.
func New(o Options) (*Site, error) {
	if o.Bench == nil {
		return nil, errors.New("make site: no bench given")
	}
	views, err := parseViews()
	if err != nil {
		return nil, fmt.Errorf("make site: %w", err)
	}
	s := &Site{
		bench:   o.Bench,
		ledger:  o.Ledger,
		desk:    o.Desk,
		logger:  o.Logger,
		version: o.Version,
		token:   o.Token,
		hosts:   newHostList(o.Hosts, o.Token),
		tls:     o.TLS,
		house:   o.House,
		views:   views,
	}
	if s.ledger == nil {
		s.ledger = recent{o.Bench}
	}
	if s.logger == nil {
		s.logger = slog.New(slog.DiscardHandler)
	}
	if s.house == nil {
		s.house = func() House { return House{} }
	}
	s.handler = guard(s.routes(o.Metrics), o.Token, s.hosts)
	return s, nil
}

// ServeHTTP answers one request.
func (s *Site) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

func (s *Site) routes(metrics http.Handler) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.page)
	s.recordRoutes(mux)
	s.ticketRoutes(mux)
	s.cautionRoutes(mux)
	s.catalogRoutes(mux)
	s.limitRoutes(mux)
	s.rigRoutes(mux)
	s.setupRoutes(mux)
	mux.HandleFunc("GET /parts/holds", s.holdsPart)
	mux.HandleFunc("GET /parts/rig", s.rigPart)
	mux.HandleFunc("GET /parts/next", s.nextPart)
	mux.HandleFunc("GET /parts/tiles", s.tilesPart)
	mux.HandleFunc("GET /bench/lay", s.onlyLooks(s.layPage))
	mux.HandleFunc("POST /bench/lay", s.onlyLooks(s.lay))
	mux.HandleFunc("POST /bench/step", s.onlyLooks(s.stepOn))
	mux.Handle("GET /static/", assets())
	mux.HandleFunc("GET /api/v1/snapshot", s.snapshot)
	mux.HandleFunc("GET /api/v1/readings", s.readings)
	mux.HandleFunc("GET /api/v1/holds", s.holds)
	mux.HandleFunc("GET /api/v1/holds/{id}", s.hold)
	mux.HandleFunc("GET /api/v1/rig", s.rig)
	mux.HandleFunc("GET /api/v1/live", s.live)
	mux.HandleFunc("GET /healthz", s.healthy)
	mux.HandleFunc("GET /readyz", s.ready)
	if metrics != nil {
		mux.Handle("GET /metrics", metrics)
	}
	return mux
}
