package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"boretight/internal/ledger"
)

// rare is how many hits of a word at most are looked at one by one. More frequent words are
// found soon on a walk from the newest entry on.
const rare = 2000

// pastWord comes behind every character of a word.
const pastWord = "\U0010ffff"

// hits counts the tickets that have a word with a prefix, as far as one more than rare.
func hits(ctx context.Context, tx *sql.Tx, prefix string) (n int, err error) {
	err = tx.QueryRowContext(ctx, `SELECT count(*) FROM (SELECT 1 FROM words WHERE word >= $1 AND word < $2 LIMIT $3)`,
		prefix, prefix+pastWord, rare+1).Scan(&n)
	return n, err
}

// search wants tickets that have all words of a search. It returns the tables to select from:
// with the list of tickets, called t, when all words are frequent, else by the rarest word.
func (w *where) search(ctx context.Context, tx *sql.Tx, search, list, id string) (string, error) {
	words := ledger.SearchWords(search)
	least, fewest := -1, rare+1
	for i, word := range words {
		n, err := hits(ctx, tx, word)
		if err != nil {
			return "", err
		}
		if n < fewest {
			least, fewest = i, n
		}
	}
	for i, word := range words {
		if i != least {
			w.conditions = append(w.conditions, w.has(id, word, ""))
		}
	}
	if least < 0 {
		return list, nil
	}
	return fmt.Sprintf("(SELECT DISTINCT ticket FROM words WHERE %s) d CROSS JOIN %s ON %s = d.ticket", w.begins(words[least]), list, id), nil
}

// searchInstruments wants instruments of which a ticket has all words of a search.
func (w *where) searchInstruments(ctx context.Context, tx *sql.Tx, search string) (string, error) {
	if len(ledger.SearchWords(search)) == 0 {
		return "instruments i", nil
	}
	inner := where{args: w.args}
	from, err := inner.search(ctx, tx, search, "tickets t", "t.id")
	if err != nil {
		return "", err
	}
	w.args = inner.args
	if from != "tickets t" {
		return "(SELECT DISTINCT t.instrument FROM " + from + inner.String() + ") s CROSS JOIN instruments i ON i.id = s.instrument", nil
	}
	w.conditions = append(w.conditions, "(SELECT 1 FROM tickets t"+inner.String()+" AND t.instrument = i.id LIMIT 1) IS NOT NULL")
	return "instruments i", nil
}

// has is the condition that a ticket has a word with a prefix. EXISTS would say the same, but
// SQLite makes a join of it and may begin with all words of the prefix.
func (w *where) has(ticket, prefix, and string) string {
	return "(SELECT 1 FROM words INDEXED BY words_ticket WHERE words.ticket = " + ticket + and + " AND " + w.begins(prefix) + " LIMIT 1) IS NOT NULL"
}

// begins is the condition that a word begins with a prefix.
func (w *where) begins(prefix string) string {
	return fmt.Sprintf("word >= %s AND word < %s", w.number(prefix), w.number(prefix+pastWord))
}
