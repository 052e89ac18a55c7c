package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"boretight/internal/ledger"
)

// rare is how many hits of a word at most are looked at one by one. More frequent words are
// found soon on a walk from the newest entry on.
const rare = 2000

// frequent is how many hits of the rarest of several words at most are looked at for the
// others: on a walk, several words that are not rare may seldom be met together.
const frequent = 10_000

// pastWord comes behind every character of a word.
const pastWord = "\U0010ffff"

// hits counts the tickets that have a word with a prefix, as far as one more than most.
func hits(ctx context.Context, tx *sql.Tx, prefix string, most int) (n int, err error) {
	err = tx.QueryRowContext(ctx, `SELECT count(*) FROM (SELECT 1 FROM words WHERE word >= $1 AND word < $2 LIMIT $3)`,
		prefix, prefix+pastWord, most+1).Scan(&n)
	return n, err
}

// search wants tickets that have all words of a search. It returns the tables to select from:
// with the list of tickets, called t, when all words are frequent, else by the rarest word.
func (w *where) search(ctx context.Context, tx *sql.Tx, search, list, id string) (string, error) {
	words := ledger.SearchWords(search)
	most := rare
	if len(words) > 1 {
		most = frequent
	}
	least, err := rarest(ctx, tx, words, most)
	if err != nil {
		return "", err
	}
	if least < 0 {
		for _, word := range words {
			w.conditions = append(w.conditions, w.has(id, word, ""))
		}
		return list, nil
	}
	of := []string{w.begins(words[least])}
	for i, word := range words {
		if i != least {
			of = append(of, w.has("l.ticket", word, ""))
		}
	}
	return fmt.Sprintf("(SELECT DISTINCT l.ticket FROM words l WHERE %s) d CROSS JOIN %s ON %s = d.ticket", strings.Join(of, " AND "), list, id), nil
}

// rarest returns the place of the word that the fewest tickets have; negative if all have more
// than most.
func rarest(ctx context.Context, tx *sql.Tx, words []string, most int) (int, error) {
	least, fewest := -1, most+1
	for i, word := range words {
		n, err := hits(ctx, tx, word, most)
		if err != nil {
			return least, err
		}
		if n < fewest {
			least, fewest = i, n
		}
	}
	return least, nil
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
