package web_test

import (
	"context"
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/catalog"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/rig"
	"boretight/internal/web"
)

// fakeBooks is a shop's catalog, limits, rig and settings in memory.
type fakeBooks struct {
	web.Ledger
	web.Desk

	files    map[string][]byte // the shop's own, by instrument
	limits   []ledger.Limit
	proposed *web.ProposedLimit
	records  []rig.Record
	settings web.Settings
	changed  map[string]string
	search   web.Search
	searched int
	used     [2]string // name and address
	dropped  string
	refusal  error // of settings and gauges
}

func (b *fakeBooks) Catalog(context.Context) (catalog.Catalog, error) { return laid(b.files) }

func laid(files map[string][]byte) (catalog.Catalog, error) {
	known, err := catalog.Templates()
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if err == nil && len(files[name]) > 0 {
			known, err = known.Edit(name+".toml", files[name])
		}
	}
	return known, err
}

func (b *fakeBooks) ShopFile(_ context.Context, instrument string) (web.ShopFile, error) {
	return web.ShopFile{Path: "/shop/" + instrument + ".toml", Text: b.files[instrument]}, nil
}

func (b *fakeBooks) KeepShopFile(_ context.Context, instrument string, change func([]byte) ([]byte, error)) error {
	text, err := change(b.files[instrument])
	if err != nil {
		return &web.Fault{Says: err.Error()}
	}
	files := map[string][]byte{}
	maps.Copy(files, b.files)
	files[instrument] = text
	if _, err := laid(files); err != nil {
		return err
	}
	b.files = files
	return nil
}

func (b *fakeBooks) Limits(context.Context) ([]ledger.Limit, error) { return b.limits, nil }

func (b *fakeBooks) SetLimit(_ context.Context, l ledger.Limit) error {
	b.limits = append(b.limits, l)
	return nil
}

func (b *fakeBooks) ProposeLimit(_ context.Context, of ledger.Limit) (web.ProposedLimit, error) {
	if b.proposed == nil {
		return web.ProposedLimit{}, &web.Fault{Says: "3 joints are too few: want at least 10."}
	}
	b.proposed.Of = of
	return *b.proposed, nil
}

func (b *fakeBooks) RigRecords(context.Context) ([]rig.Record, error) { return b.records, nil }

func (b *fakeBooks) Settings(context.Context) (web.Settings, error) { return b.settings, nil }

func (b *fakeBooks) ChangeSettings(_ context.Context, values map[string]string) error {
	if b.refusal == nil {
		b.changed = values
	}
	return b.refusal
}

func (b *fakeBooks) FindGauges(context.Context) error { b.searched++; return nil }
func (b *fakeBooks) Search() web.Search               { return b.search }

func (b *fakeBooks) UseGauge(_ context.Context, name, address string) error {
	if b.refusal == nil {
		b.used = [2]string{name, address}
	}
	return b.refusal
}

func (b *fakeBooks) DropGauge(_ context.Context, name string) error {
	if b.refusal == nil {
		b.dropped = name
	}
	return b.refusal
}

// bookSite is a site of a shop's books, whose people see lengths and so on in units.
func bookSite(t *testing.T, b *fakeBooks, units quantity.Units) (*web.Site, *fakeBench) {
	t.Helper()
	f := newFake()
	site, err := web.New(web.Options{Bench: f, Ledger: b, Desk: b, Version: "test", House: func() web.House {
		return web.House{Units: units, Location: time.UTC}
	}})
	require.NoError(t, err)
	return site, f
}

// phaseOf lets the gauge of a bench be in a phase.
func phaseOf(f *fakeBench, phase string) {
	f.change(func(s *bench.Snapshot) { s.Gauges[0].Phase = phase })
}
