package sqlite_test

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/tools/ledgermaker/shop"
)

// BenchmarkLists is what pages of lists and searches cost in a made-up shop. How they fare
// with a million holds tells internal/tools/ledgermaker -measure.
func BenchmarkLists(b *testing.B) {
	path := filepath.Join(b.TempDir(), "ledger.db")
	require.NoError(b, shop.Make(b.Context(), path, 6000, 1, time.Now()))
	db := opened(b, path)
	newest, err := db.Tickets(b.Context(), ledger.TicketFilter{Limit: 1})
	require.NoError(b, err)
	for _, f := range []ledger.Filter{
		{}, {InstrumentID: newest[0].Instrument.ID}, {Verdict: "inconclusive"}, {Instrument: "bassoon", When: "as_left"},
		{Search: "oboe fail"}, {Search: "flute upper"}, {Search: newest[0].ID}, {Search: newest[0].Instrument.Maker}, {Search: "m fail"},
	} {
		f.Limit = 50
		b.Run(fmt.Sprintf("holds %+v", f), func(b *testing.B) {
			for b.Loop() {
				_, err := db.Holds(b.Context(), f)
				require.NoError(b, err)
			}
		})
		b.Run(fmt.Sprintf("trials %+v", f), func(b *testing.B) {
			for b.Loop() {
				_, err := db.Trials(b.Context(), f)
				require.NoError(b, err)
			}
		})
	}
	for _, search := range []string{"", "oboe", newest[0].Instrument.Serial} {
		b.Run(fmt.Sprintf("tickets %q", search), func(b *testing.B) {
			for b.Loop() {
				_, err := db.Tickets(b.Context(), ledger.TicketFilter{Search: search, Limit: 50})
				require.NoError(b, err)
			}
		})
		b.Run(fmt.Sprintf("instruments %q", search), func(b *testing.B) {
			for b.Loop() {
				_, err := db.Instruments(b.Context(), ledger.InstrumentFilter{Search: search, Limit: 50})
				require.NoError(b, err)
			}
		})
	}
}
