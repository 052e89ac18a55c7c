package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"boretight/internal/ledger"
)

// class is what many holds and trials of a shop have in common. There are a few hundred of
// them in a ledger of a million holds, and an index has each class's holds in their order:
// so a list is not walked in search of what it seldom has.
type class struct{ instrument, joint, section, occasion, verdict string }

const classColumns = "instrument, joint, section, occasion, verdict"

// mostClasses bounds what is looked at class by class. A shop that writes free text as
// sections has more; its lists are walked.
const mostClasses = 1000

func (c class) columns() []any {
	return []any{c.instrument, c.joint, c.section, c.occasion, c.verdict}
}

// shown tells whether a filter shows the class.
func (c class) shown(f ledger.Filter) bool {
	for _, p := range [...][2]string{{f.Instrument, c.instrument}, {f.Joint, c.joint}, {f.Section, c.section}, {f.When, c.occasion}, {f.Verdict, c.verdict}} {
		if p[0] != "" && p[0] != p[1] {
			return false
		}
	}
	return true
}

// lacking returns those of the words that do not begin a word of the class.
func (c class) lacking(words []string) []string {
	own := ledger.SplitWords(strings.Join([]string{c.instrument, c.joint, c.section, c.occasion, c.verdict}, " "))
	return slices.DeleteFunc(slices.Clone(words), func(w string) bool { return begins(own, w) })
}

func begins(words []string, prefix string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return strings.HasPrefix(w, prefix) })
}

// classes returns the classes of a list, or false if there are too many. It leaps from one
// past its last entry to the next: SQLite would walk over the entries that are alike in all
// columns compared.
func classes(ctx context.Context, tx *sql.Tx, list listing) ([]class, bool, error) {
	next, err := tx.PrepareContext(ctx, "SELECT "+classColumns+" FROM "+list.table+
		" WHERE ("+classColumns+", "+list.within+") > ($1, $2, $3, $4, $5, $6) ORDER BY "+classColumns+", "+list.within+" LIMIT 1")
	if err != nil {
		return nil, false, err
	}
	defer next.Close()
	var all []class
	row := tx.QueryRowContext(ctx, "SELECT "+classColumns+" FROM "+list.table+" ORDER BY "+classColumns+", "+list.within+" LIMIT 1")
	for {
		var c class
		err := row.Scan(&c.instrument, &c.joint, &c.section, &c.occasion, &c.verdict)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return all, true, nil
		case err != nil:
			return nil, false, fmt.Errorf("classes of %s: %w", list.table, err)
		case len(all) == mostClasses:
			return nil, false, nil
		}
		all = append(all, c)
		row = next.QueryRowContext(ctx, append(c.columns(), list.past)...)
	}
}

// rank is where an entry stands in its list: (UTC, chain, n) of a trial, the identity of a
// hold stands for the chain.
type rank struct {
	at    int64
	chain string
	n     int64
}

func (p rank) compare(q rank) int {
	return cmp.Or(cmp.Compare(p.at, q.at), cmp.Compare(p.chain, q.chain), cmp.Compare(p.n, q.n))
}

// listing is what tells the list of holds from that of trials.
type listing struct {
	table string
	// rank are the columns of a rank; newest is the order of them, last first.
	rank, newest string
	// within is the column that first orders the entries of a class, past a value after all.
	within string
	past   any
	// compare is the condition that an entry is before (<) or past (>) a rank.
	compare func(w *where, sign string, p rank) string
}

var (
	holdListing = listing{"holds", "0, id, 0", "id DESC", "id", pastPrefix, func(w *where, sign string, p rank) string {
		return "id " + sign + " " + w.number(p.chain)
	}}
	trialListing = listing{"trials", "at_us, chain, n", "at_us DESC, chain DESC, n DESC", "at_us", int64(math.MaxInt64), func(w *where, sign string, p rank) string {
		return fmt.Sprintf("(at_us, chain, n) %s (%s, %s, %s)", sign, w.number(p.at), w.number(p.chain), w.number(p.n))
	}}
)
