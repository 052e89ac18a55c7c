package sqlite_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/ticket"
)

func TestAChangeThatWouldNotCountIsRefused(t *testing.T) {
	noon := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	for name, change := range map[string]func(*ticket.Ticket){
		"of a ticket":   func(v *ticket.Ticket) { v.Remark = "plays again" },
		"of a customer": func(v *ticket.Ticket) { v.Customer.Contact = "4 Reed Street" },
	} {
		t.Run(name, func(t *testing.T) {
			err := sqlite.Make(t.Context(), filepath.Join(t.TempDir(), "ledger.db"), func(b *sqlite.Bulk) error {
				b.SetTime(noon)
				v, err := b.OpenTicket(t.Context(), ledgertest.Visit())
				require.NoError(t, err)
				b.SetTime(noon.Add(-time.Hour)) // the clock was set back
				change(&v)
				return b.KeepTicket(t.Context(), v)
			})
			require.ErrorIs(t, err, ledger.ErrClock)
			assert.ErrorContains(t, err, "it says 2 March 2026 11:00 UTC: set it and try again")
		})
	}
}
