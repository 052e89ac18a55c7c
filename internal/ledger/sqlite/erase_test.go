package sqlite_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/ticket"
)

// traces counts where a text is still to be found, in any case, in all files of the ledger.
func traces(t *testing.T, path, text string) (n int) {
	t.Helper()
	found, err := filepath.Glob(path + "*")
	require.NoError(t, err)
	for _, name := range found {
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		n += strings.Count(strings.ToLower(string(b)), strings.ToLower(text))
	}
	return n
}

// visitOf keeps a ticket of a customer.
func visitOf(t *testing.T, db *sqlite.DB, c ticket.Customer) ticket.Ticket {
	t.Helper()
	v := ledgertest.Visit()
	v.Customer = c
	kept, err := db.KeepTicket(t.Context(), v)
	require.NoError(t, err)
	return kept
}

func TestAnErasedCustomerLeavesNoByte(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	db := opened(t, path)
	for i := range 300 { // so that pages are split and rows moved
		visitOf(t, db, ticket.Customer{Name: fmt.Sprintf("Person%d Wexcombe", i), Contact: fmt.Sprintf("%d Reed Street", i)})
	}
	gone := visitOf(t, db, ticket.Customer{Name: "Zebulon Quetzalford", Contact: "zq@hearth.example"})
	for i := range 300 {
		visitOf(t, db, ticket.Customer{Name: fmt.Sprintf("Quetz%d", i), Contact: "hearth lane"})
	}
	changed := gone
	changed.Customer.Contact = "0999 31415926"
	changed, err := db.KeepTicket(t.Context(), changed)
	require.NoError(t, err)
	words := []string{"zebulon", "quetzalford", "zq@hearth", "31415926"}
	for _, w := range words {
		require.NotZero(t, traces(t, path, w), w)
	}

	require.NoError(t, db.EraseCustomer(t.Context(), gone.Customer.ID))
	for _, w := range words {
		assert.Zero(t, traces(t, path, w), w)
	}
	ledgertest.Sound(t, db)
	got, err := db.Ticket(t.Context(), gone.ID)
	require.NoError(t, err)
	assert.Equal(t, ticket.Customer{ID: gone.Customer.ID}, got.Customer)
	found, err := db.Tickets(t.Context(), ledger.TicketFilter{Search: "quetzalford"})
	require.NoError(t, err)
	assert.Empty(t, found)
	assert.ErrorIs(t, db.EraseCustomer(t.Context(), gone.Customer.ID), ledger.ErrNotFound)
	assert.ErrorIs(t, db.EraseCustomer(t.Context(), ledger.NewID()), ledger.ErrNotFound)

	kept, err := db.KeepTicket(t.Context(), got)
	require.NoError(t, err)
	assert.Equal(t, got, kept, "an erased customer stays erased when the ticket is recorded again")
	ledgertest.Sound(t, db)
}

func TestAnErasedTextLeavesNoByte(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	db := opened(t, path)
	v := visitOf(t, db, ticket.Customer{Name: "Zebulon Quetzalford"})
	v.Complaint = "the xylograph rattles"
	_, err := db.KeepTicket(t.Context(), v)
	require.NoError(t, err)
	customers, err := db.Records(t.Context(), ledger.CustomerKept)
	require.NoError(t, err)
	tickets, err := db.Records(t.Context(), ledger.TicketKept)
	require.NoError(t, err)
	name := ledgertest.Content[ledger.CustomerRecord](t, customers[0]).Name
	complaint := ledgertest.Content[ledger.TicketRecord](t, tickets[1]).Complaint

	require.NoError(t, db.Erase(t.Context(), name.ID))
	assert.Zero(t, traces(t, path, "quetzalford"))
	require.NoError(t, db.Erase(t.Context(), complaint.ID))
	assert.Zero(t, traces(t, path, "xylograph"))
	ledgertest.Sound(t, db)
	got, err := db.Ticket(t.Context(), v.ID)
	require.NoError(t, err)
	assert.Empty(t, got.Complaint)
	assert.Empty(t, got.Customer.Name)
}

func TestErasingSaysWhatAReaderKeepsFromIt(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.db")
	db := open(t, path)
	gone := visitOf(t, db, ticket.Customer{Name: "Zebulon Quetzalford"})
	reader := rawOpen(t, path)
	_, err := reader.Exec("BEGIN; SELECT count(*) FROM records")
	require.NoError(t, err)
	err = db.EraseCustomer(t.Context(), gone.Customer.ID)
	assert.ErrorContains(t, err, "its bytes stay in the journal")
	got, err := db.Ticket(t.Context(), gone.ID)
	require.NoError(t, err)
	assert.Empty(t, got.Customer.Name, "it is erased all the same")
	_, err = reader.Exec("COMMIT")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	assert.Zero(t, traces(t, path, "quetzalford"))
}
