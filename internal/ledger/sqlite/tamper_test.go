package sqlite_test

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/ticket"
	"boretight/internal/trial"
)

func TestTriggersProtectWhatIsStored(t *testing.T) {
	path, hold := made(t)
	raw := rawOpen(t, path)
	for _, change := range []string{
		"UPDATE records SET kind = 'note'",
		"DELETE FROM records",
		"REPLACE INTO records SELECT * FROM records",
		"UPDATE blocks SET count = 1",
		"DELETE FROM blocks",
		"INSERT INTO blocks SELECT hold, 100000, count, data, running FROM blocks LIMIT 1",
		"UPDATE chains SET n = n - 1",
		"DELETE FROM chains",
		"UPDATE about SET subject = 'x'",
		"DELETE FROM about",
		"UPDATE texts SET body = 'x'",
		"DELETE FROM texts",
		"DELETE FROM holds",
	} {
		if strings.Contains(change, "texts") {
			_, err := raw.Exec("INSERT OR IGNORE INTO texts SELECT 'a', chain, n, x'00', 'b' FROM records LIMIT 1")
			require.NoError(t, err)
		}
		_, err := raw.Exec(change)
		assert.Error(t, err, change)
	}
	assert.NotEmpty(t, hold)
}

// rawOpen opens the file behind the ledger's back.
func rawOpen(t testing.TB, path string) *sql.DB {
	t.Helper()
	raw, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, raw.Close()) })
	raw.SetMaxOpenConns(1)
	return raw
}

// full makes a ledger with something in each table and a second chain.
func full(t testing.TB) string {
	t.Helper()
	first := filepath.Join(t.TempDir(), "first.db")
	db := open(t, first)
	fill(t, db)
	path := filepath.Join(t.TempDir(), "ledger.db")
	require.NoError(t, db.Copy(t.Context(), path))
	require.NoError(t, db.Close())
	db = open(t, path)
	fill(t, db)
	ledgertest.Sound(t, db)
	require.NoError(t, db.Close())
	return path
}

func fill(t testing.TB, db *sqlite.DB) {
	t.Helper()
	w, stop := ledgertest.Start(t, db)
	defer stop()
	b := ledgertest.Begin("north")
	ledgertest.Write(t, w, b, 60, ledgertest.Outcome(trial.Pass, 2))
	c := ledgertest.Begin("south")
	ledgertest.Write(t, w, c, 60, ledgertest.Outcome(trial.Fail, 20))
	v, err := db.KeepTicket(t.Context(), ledgertest.Visit())
	require.NoError(t, err)
	v.Closed, v.Remark = v.Opened.Add(time.Hour), "plays again"
	_, err = db.AddWork(t.Context(), v.ID, ticket.Work{Did: "floated a pad"})
	require.NoError(t, err)
	_, err = db.KeepTicket(t.Context(), v)
	require.NoError(t, err)
	for _, d := range []ledger.Draft{
		ledger.VoidDraft(c.ID, "a door slammed"),
		ledger.NoteDraft(b.ID, "cork looks new"),
		ledger.Trial{ID: ledger.NewID(), Holds: []string{b.ID}, Result: trial.Trial{Schema: trial.SchemaTrial}}.Draft(),
	} {
		_, err := db.Append(t.Context(), d)
		require.NoError(t, err)
	}
}

// column is one column of the schema.
type column struct{ table, name, kind string }

// TestAuditFindsAChangedByte changes one byte of one row in each column of each
// table that holds what was measured, and wants to be told.
func TestAuditFindsAChangedByte(t *testing.T) {
	path := full(t)
	n := 0
	for _, c := range columns(t, path) {
		t.Run(c.table+"."+c.name, func(t *testing.T) {
			changed := duplicate(t, path)
			if !tamper(t, changed, c) {
				t.Log("no value to change: all rows are NULL")
				return
			}
			db, err := sqlite.OpenReadOnly(context.Background(), changed)
			require.NoError(t, err)
			defer db.Close()
			r, err := db.Check(t.Context())
			require.NoError(t, err)
			require.False(t, r.OK, "not found")
			require.NotNil(t, r.FirstFault)
			assert.Regexp(t, `^(chain|hold|table|the list|file) ?.*: |^the list `, *r.FirstFault)
			t.Log(*r.FirstFault)
		})
		n++
	}
	assert.Greater(t, n, 75, "columns tried")
}

// columns lists the columns that an audit covers. What is left out says nothing
// of a measurement: beats of writers and the place of the file.
func columns(t testing.TB, path string) []column {
	t.Helper()
	rows, err := rawOpen(t, path).Query(`SELECT m.name, c.name, c.type FROM sqlite_schema m, pragma_table_info(m.name) c
		WHERE m.type = 'table' AND m.name IN ('chains', 'records', 'about', 'texts', 'holds', 'blocks', 'trials', 'tickets', 'instruments', 'customers', 'words')`)
	require.NoError(t, err)
	defer rows.Close()
	var all []column
	for rows.Next() {
		var c column
		require.NoError(t, rows.Scan(&c.table, &c.name, &c.kind))
		all = append(all, c)
	}
	require.NoError(t, rows.Err())
	return all
}

// duplicate is the file as it is, so that many tests may share the making of it.
func duplicate(t testing.TB, path string) string {
	t.Helper()
	dst := filepath.Join(t.TempDir(), "ledger.db")
	_, err := rawOpen(t, path).Exec("VACUUM INTO ?", dst)
	require.NoError(t, err)
	return dst
}

// tamper changes one byte in the last row that has a value, with the triggers away
// for the while.
func tamper(t testing.TB, path string, c column) bool {
	t.Helper()
	raw, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	defer raw.Close()
	raw.SetMaxOpenConns(1)
	restore := dropTriggers(t, raw)
	_, err = raw.Exec("PRAGMA ignore_check_constraints = 1")
	require.NoError(t, err)
	change := map[string]string{
		"INTEGER": "%[2]s + 1",
		"REAL":    "%[2]s * 1.000001",
		"BLOB":    "CAST(substr(%[2]s, 1, length(%[2]s) / 2) || CASE hex(substr(%[2]s, length(%[2]s) / 2 + 1, 1)) WHEN '41' THEN x'42' ELSE x'41' END || substr(%[2]s, length(%[2]s) / 2 + 2) AS BLOB)",
		"TEXT":    "substr(%[2]s, 1, length(%[2]s) - 1) || CASE substr(%[2]s, -1) WHEN 'a' THEN 'b' ELSE 'a' END",
	}[c.kind]
	require.NotEmpty(t, change, "type %s", c.kind)
	key := "rowid"
	switch c.table { // they have none
	case "about":
		key = "chain || n || subject"
	case "words":
		key = "word || ticket"
	}
	res, err := raw.Exec(fmt.Sprintf("UPDATE %[1]s SET %[2]s = "+change+" WHERE "+key+" = (SELECT max("+key+") FROM %[1]s WHERE %[2]s IS NOT NULL)",
		c.table, c.name))
	require.NoError(t, err)
	n, err := res.RowsAffected()
	require.NoError(t, err)
	for _, s := range restore {
		_, err := raw.Exec(s)
		require.NoError(t, err)
	}
	return n > 0
}

func dropTriggers(t testing.TB, raw *sql.DB) (restore []string) {
	t.Helper()
	rows, err := raw.Query("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
	require.NoError(t, err)
	var names []string
	for rows.Next() {
		var name, s string
		require.NoError(t, rows.Scan(&name, &s))
		names, restore = append(names, name), append(restore, s)
	}
	require.NoError(t, rows.Err())
	require.NoError(t, rows.Close())
	require.NotEmpty(t, names)
	for _, name := range names {
		_, err := raw.Exec("DROP TRIGGER " + name)
		require.NoError(t, err)
	}
	return restore
}

func TestAuditFindsWhatIsMissing(t *testing.T) {
	path := full(t)
	for name, c := range map[string]struct{ change, fault string }{
		"the newest record of a chain": {"DELETE FROM records WHERE rowid = (SELECT max(rowid) FROM records)", "missing"},
		"a record within a chain":      {"DELETE FROM records WHERE kind = 'note'", "missing"},
		"a block of an ended hold":     {"DELETE FROM blocks WHERE rowid = 1", "readings"},
		"the subjects of a record":     {"DELETE FROM about WHERE n = 2", "listed as about"},
		"a hold in the list":           {"DELETE FROM holds WHERE rowid = 1", "missing"},
		"a trial in the list":          {"DELETE FROM trials", "is not in the list of trials"},
		"a trial too many in the list": {"INSERT INTO trials SELECT 'another', at_us, chain, n, instrument, joint, ticket, verdict, section, occasion FROM trials LIMIT 1",
			"the records"},
		"a ticket in the list":      {"DELETE FROM words WHERE ticket = 'T-1001'; DELETE FROM tickets WHERE id = 'T-1001'", "is not in the list of tickets"},
		"an instrument in the list": {"DELETE FROM instruments WHERE rowid = 1", "is not in the list of instruments"},
		"a customer in the list":    {"DELETE FROM customers WHERE rowid = 1", "is not in the list of customers"},
		"a word of a ticket":        {"DELETE FROM words WHERE word = 'quill'", "other words"},
		"a ticket too many in the list": {"INSERT INTO tickets SELECT 'T-9', at_us, chain, n, opened_us, closed_us, instrument, customer FROM tickets LIMIT 1",
			"tickets, the records"},
		"an instrument too many in the list": {"INSERT INTO instruments SELECT 'another', at_us, chain, n FROM instruments LIMIT 1", "instruments, the records"},
		"a customer too many in the list":    {"INSERT INTO customers SELECT 'another', at_us, chain, n, name, contact FROM customers LIMIT 1", "customers, the records"},
		"a word too many":                    {"INSERT INTO words SELECT 'another', id, 0 FROM tickets LIMIT 1", "other words"},
		"a ticket as it was before": {"UPDATE tickets SET closed_us = NULL, n = n - 2, at_us = (SELECT at_us FROM records r WHERE r.chain = tickets.chain AND r.n = tickets.n - 2)",
			"older record of ticket"},
		"an instrument as it was before": {"UPDATE instruments SET n = n - 2, at_us = (SELECT at_us FROM records r WHERE r.chain = instruments.chain AND r.n = instruments.n - 2)",
			"older record of instrument"},
	} {
		t.Run(name, func(t *testing.T) {
			changed := duplicate(t, path)
			raw := rawOpen(t, changed)
			restore := dropTriggers(t, raw)
			_, err := raw.Exec(c.change)
			require.NoError(t, err)
			for _, s := range restore {
				_, err := raw.Exec(s)
				require.NoError(t, err)
			}
			assertFault(t, changed, c.fault)
		})
	}
	t.Run("a trigger", func(t *testing.T) {
		changed := duplicate(t, path)
		_, err := rawOpen(t, changed).Exec("DROP TRIGGER blocks_delete")
		require.NoError(t, err)
		assertFault(t, changed, "trigger blocks_delete")
	})
}

func assertFault(t *testing.T, path, want string) {
	t.Helper()
	db, err := sqlite.OpenReadOnly(t.Context(), path)
	require.NoError(t, err)
	defer db.Close()
	r, err := db.Check(t.Context())
	require.NoError(t, err)
	assert.False(t, r.OK)
	require.NotNil(t, r.FirstFault)
	assert.Contains(t, *r.FirstFault, want)
}
