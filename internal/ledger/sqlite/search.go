package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"boretight/internal/ledger"
)

// hit is an entry that a search has found.
type hit struct {
	id, ticket string
	class      class
	rank       rank
}

// search finds the newest entries of a list that a filter shows, in one view of the file.
// What is common is found by walking the list from its newest entry on; what is rare is
// reached by its class or by its ticket.
type search struct {
	tx     *sql.Tx
	list   listing
	filter ledger.Filter
	words  []string
	limit  int
	before *rank
	// rare and frequent are those of words.
	rare, frequent int
	// found are the newest so far, newest first.
	found []hit
	// lacks has the words that a class lacks, labels the words of a ticket.
	lacks  map[class][]string
	labels map[string][]string
}

// find returns the identities of what the filter shows, newest first; before, if not nil, is
// the rank of the last one of the page before.
func find(ctx context.Context, tx *sql.Tx, list listing, f ledger.Filter, before *rank) ([]string, error) {
	return findBy(ctx, tx, list, f, before, rare, frequent)
}

// findBy is find with words that are rare or frequent from other numbers of hits on.
func findBy(ctx context.Context, tx *sql.Tx, list listing, f ledger.Filter, before *rank, rare, frequent int) ([]string, error) {
	s := search{
		tx: tx, list: list, filter: f, words: ledger.SearchWords(f.Search), limit: cmp.Or(f.Limit, defaultLimit), before: before,
		rare: rare, frequent: frequent, lacks: make(map[class][]string), labels: make(map[string][]string),
	}
	if err := s.run(ctx); err != nil {
		return nil, err
	}
	ids := make([]string, len(s.found))
	for i, h := range s.found {
		ids[i] = h.id
	}
	return ids, nil
}

func (s *search) run(ctx context.Context) error {
	f := s.filter
	switch {
	case f.Ticket != "" || f.InstrumentID != "":
		return s.walk(ctx, s.shown(), " INDEXED BY "+s.list.table+"_ticket")
	case f.Instrument == "" && f.Joint == "" && f.Section == "" && f.When == "" && f.Verdict == "" && len(s.words) == 0:
		return s.walk(ctx, s.shown(), "")
	}
	all, few, err := classes(ctx, s.tx, s.list)
	if err != nil {
		return err
	}
	if !few {
		return s.walk(ctx, s.shown(), "")
	}
	return s.byClass(ctx, all)
}

// byClass takes the entries of classes that have all words, and those of tickets that have
// what a class lacks.
func (s *search) byClass(ctx context.Context, all []class) error {
	var whole []class
	var lacking [][]string // each set of words once
	for _, c := range all {
		if !c.shown(s.filter) {
			continue
		}
		rest := s.lacking(c)
		switch {
		case len(rest) == 0:
			whole = append(whole, c)
		case !slices.ContainsFunc(lacking, func(l []string) bool { return slices.Equal(l, rest) }):
			lacking = append(lacking, rest)
		}
	}
	tickets, few, err := s.tickets(ctx, lacking)
	if err != nil {
		return err
	}
	if !few {
		w := s.shown()
		if len(whole) == 0 {
			s.wanted(&w, lacking)
		}
		return s.walk(ctx, w, "")
	}
	if err := s.ofClasses(ctx, whole); err != nil || len(tickets) == 0 {
		return err
	}
	return s.ofTickets(ctx, tickets)
}

// ofTickets takes what is shown of tickets. Which rows those are and in what order, the index
// tells alone; of the rows, only as many are read as are needed.
func (s *search) ofTickets(ctx context.Context, tickets []string) error {
	list, err := json.Marshal(tickets)
	if err != nil {
		return err
	}
	rows, err := s.tx.QueryContext(ctx, "SELECT rowid FROM "+s.list.table+" INDEXED BY "+s.list.table+
		"_ticket WHERE ticket IN (SELECT value FROM json_each($1)) ORDER BY "+s.list.newest, string(list))
	ids, err := collect(rows, err, func(rows *sql.Rows) (id int64, err error) { return id, rows.Scan(&id) })
	if err != nil {
		return err
	}
	took := 0
	for some := range slices.Chunk(ids, max(s.limit, mostAtOnce/10)) {
		if took >= s.limit {
			break
		}
		list, err := json.Marshal(some)
		if err != nil {
			return err
		}
		w := s.shown()
		w.conditions = append(w.conditions, "rowid IN (SELECT value FROM json_each("+w.number(string(list))+"))")
		n, err := s.read(ctx, w, "")
		if err != nil {
			return err
		}
		took += n
	}
	s.settle()
	return nil
}

// wanted are the words that every class lacks: tickets alone can have them, and SQLite looks
// faster than we do.
func (s *search) wanted(w *where, lacking [][]string) {
	for _, word := range s.words {
		if slices.ContainsFunc(lacking, func(l []string) bool { return !slices.Contains(l, word) }) {
			continue
		}
		w.conditions = append(w.conditions, w.labelled(s.list.table+".ticket", word))
	}
}

// labelled is the condition that a ticket may have a word with a prefix: certain of tickets
// on record, while of other labels it tells whether the word is found in them at all.
func (w *where) labelled(ticket, prefix string) string {
	return fmt.Sprintf("(%s OR %s LIKE %s)", w.has(ticket, prefix, " AND template = 0"), ticket, w.number("%"+prefix+"%"))
}

// tickets returns those that may have all words of one of the sets; false if those with the
// rarest word of a set are too many.
func (s *search) tickets(ctx context.Context, sets [][]string) ([]string, bool, error) {
	byWord := make(map[string][]string)
	var all []string
	for _, set := range sets {
		var least []string
		for i, word := range set {
			found, known := byWord[word]
			if !known {
				var err error
				if found, err = s.labelled(ctx, word); err != nil {
					return nil, false, err
				}
				byWord[word] = found
			}
			if i == 0 || len(found) < len(least) {
				least = found
			}
		}
		var err error
		few := len(least) <= s.rare
		switch {
		case len(set) == 1:
		case few:
			least, err = s.having(ctx, least, set)
		default:
			least, few, err = s.together(ctx, set)
		}
		if err != nil || !few {
			return nil, false, err
		}
		all = append(all, least...)
	}
	slices.Sort(all)
	all = slices.Compact(all)
	return all, len(all) <= s.rare, nil
}

// having returns those of the tickets that may have all words.
func (s *search) having(ctx context.Context, tickets, words []string) ([]string, error) {
	var w where
	query := "SELECT value FROM " + w.list(tickets)
	for _, word := range words {
		w.conditions = append(w.conditions, w.labelled("value", word))
	}
	rows, err := s.tx.QueryContext(ctx, query+w.String(), w.args...)
	return collect(rows, err, scanText)
}

// together returns tickets that may have all words, of which none is rare; false if they are
// too many, or all words too frequent.
func (s *search) together(ctx context.Context, words []string) ([]string, bool, error) {
	least, err := rarest(ctx, s.tx, words, s.frequent)
	if err != nil || least < 0 {
		return nil, false, err
	}
	var w where
	w.conditions = append(w.conditions, w.begins(words[least]), "template = 0")
	for i, word := range words {
		if i != least {
			w.conditions = append(w.conditions, w.labelled("w.ticket", word))
		}
	}
	rows, err := s.tx.QueryContext(ctx, "SELECT w.ticket FROM words w"+w.String()+" LIMIT "+w.number(s.rare+1), w.args...)
	found, err := collect(rows, err, scanText)
	if err != nil || len(found) > s.rare {
		return nil, false, err
	}
	bare, err := s.beginning(ctx, nil, words[least])
	if err != nil || len(bare) > s.rare {
		return nil, false, err
	}
	bare, err = s.having(ctx, bare, words)
	return append(found, bare...), true, err
}

// labelled returns tickets that have a word with a prefix, up to one more than rare.
func (s *search) labelled(ctx context.Context, prefix string) ([]string, error) {
	rows, err := s.tx.QueryContext(ctx, "SELECT ticket FROM words WHERE word >= $1 AND word < $2 AND template = 0 LIMIT $3",
		prefix, prefix+pastWord, s.rare+1)
	found, err := collect(rows, err, scanText)
	if err != nil {
		return nil, err
	}
	return s.beginning(ctx, found, prefix)
}

// beginning adds the labels that begin with a prefix, up to one more than rare: of which there
// is no ticket, they are known by their beginning alone.
func (s *search) beginning(ctx context.Context, found []string, prefix string) (_ []string, err error) {
	for _, begin := range [...]string{prefix, strings.ToUpper(prefix)} {
		if err != nil || len(found) > s.rare {
			return found, err
		}
		var rows *sql.Rows
		var more []string
		rows, err = s.tx.QueryContext(ctx, "SELECT DISTINCT ticket FROM "+s.list.table+" WHERE ticket >= $1 AND ticket < $2 LIMIT $3",
			begin, begin+pastWord, s.rare+1)
		more, err = collect(rows, err, scanText)
		found = append(found, more...)
	}
	return found, err
}

// shown are the conditions of the filter, but for its words.
func (s *search) shown() where {
	f := s.filter
	var w where
	w.add("ticket = %s", f.Ticket)
	w.add("ticket IN (SELECT id FROM tickets WHERE instrument = %s)", f.InstrumentID)
	w.add("instrument = %s", f.Instrument)
	w.add("joint = %s", f.Joint)
	w.add("section = %s", f.Section)
	w.add("occasion = %s", f.When)
	w.add("verdict = %s", f.Verdict)
	if s.list.table == holdListing.table {
		w.add("gauge = %s", f.Gauge)
	}
	if s.before != nil {
		w.conditions = append(w.conditions, s.list.compare(&w, "<", *s.before))
	}
	return w
}

const hitColumns = "id, ticket, " + classColumns + ", "

// walk takes what is shown from the newest entry on until there is enough.
func (s *search) walk(ctx context.Context, w where, index string) error {
	_, err := s.read(ctx, w, index)
	s.settle()
	return err
}

// read takes what a condition shows, newest first, until there is enough.
func (s *search) read(ctx context.Context, w where, index string) (took int, err error) {
	rows, err := s.tx.QueryContext(ctx, "SELECT "+hitColumns+s.list.rank+" FROM "+s.list.table+index+
		w.String()+" ORDER BY "+s.list.newest, w.args...)
	if err != nil {
		return 0, err
	}
	return s.take(ctx, rows)
}

// ofClasses takes what is shown of one class after the other. Once there is enough, only what
// is newer than the oldest of that is looked for.
func (s *search) ofClasses(ctx context.Context, all []class) error {
	w := s.shown()
	w.conditions = append(w.conditions, s.list.compare(&w, ">", rank{}))
	rest := len(w.args)
	w.conditions = append(w.conditions, fmt.Sprintf("("+classColumns+") = (%s, %s, %s, %s, %s)", w.number(""), w.number(""), w.number(""), w.number(""), w.number("")))
	floor := rest - len(s.rankArgs(rank{}))
	query, err := s.tx.PrepareContext(ctx, "SELECT "+hitColumns+s.list.rank+" FROM "+s.list.table+w.String()+" ORDER BY "+s.list.newest)
	if err != nil {
		return err
	}
	defer query.Close()
	for _, c := range all {
		copy(w.args[rest:], c.columns())
		if len(s.found) == s.limit {
			copy(w.args[floor:], s.rankArgs(s.found[s.limit-1].rank))
		}
		rows, err := query.QueryContext(ctx, w.args...)
		if err != nil {
			return err
		}
		took, err := s.take(ctx, rows)
		if err != nil {
			return err
		}
		if took > 0 {
			s.settle()
		}
	}
	return nil
}

// rankArgs are the arguments of the list's comparison with a rank.
func (s *search) rankArgs(r rank) []any {
	var w where
	s.list.compare(&w, ">", r)
	return w.args
}

// take reads entries, newest first, until there are as many as are wanted.
func (s *search) take(ctx context.Context, rows *sql.Rows) (took int, err error) {
	defer rows.Close()
	for took < s.limit && rows.Next() {
		var h hit
		if err := rows.Scan(&h.id, &h.ticket, &h.class.instrument, &h.class.joint, &h.class.section, &h.class.occasion,
			&h.class.verdict, &h.rank.at, &h.rank.chain, &h.rank.n); err != nil {
			return took, err
		}
		has, err := s.has(ctx, h)
		if err != nil {
			return took, err
		}
		if has {
			s.found = append(s.found, h)
			took++
		}
	}
	return took, rows.Err()
}

// settle brings what was found into order, each once and no more than wanted.
func (s *search) settle() {
	slices.SortFunc(s.found, func(a, b hit) int { return b.rank.compare(a.rank) })
	s.found = slices.CompactFunc(s.found, func(a, b hit) bool { return a.id == b.id })
	s.found = s.found[:min(len(s.found), s.limit)]
}

// has tells whether an entry has all words of the search.
func (s *search) has(ctx context.Context, h hit) (bool, error) {
	if len(s.words) == 0 {
		return true, nil
	}
	rest := s.lacking(h.class)
	if len(rest) == 0 {
		return true, nil
	}
	own, err := s.label(ctx, h.ticket)
	if err != nil {
		return false, err
	}
	return !slices.ContainsFunc(rest, func(w string) bool { return !begins(own, w) }), nil
}

func (s *search) lacking(c class) []string {
	rest, known := s.lacks[c]
	if !known {
		rest = c.lacking(s.words)
		s.lacks[c] = rest
	}
	return rest
}

// label returns the words of a ticket.
func (s *search) label(ctx context.Context, ticket string) ([]string, error) {
	own, known := s.labels[ticket]
	if known {
		return own, nil
	}
	rows, err := s.tx.QueryContext(ctx, "SELECT word FROM words WHERE ticket = $1 AND template = 0", ticket)
	own, err = collect(rows, err, scanText)
	own = append(own, ledger.SplitWords(ticket)...)
	s.labels[ticket] = own
	return own, err
}
