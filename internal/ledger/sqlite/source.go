package sqlite

import (
	"context"
	"database/sql"

	"boretight/internal/ledger"
)

// source is one view of the file for an audit. What is asked once a hold is
// prepared once: with a hundred thousand holds, to compile each query anew takes
// longer than all the rest of an audit. The statements end with the transaction.
type source struct {
	tx             *sql.Tx
	listed, blocks *sql.Stmt
	// visits are the queries of [ledger.TicketSource], prepared.
	visits map[string]*sql.Stmt
	// ended holds the rows of the list that belong to the last page's end records.
	ended map[string]*ledger.Listed
	// trials holds the rows that belong to the last page's trial records.
	trials map[string]*ledger.ListedTrial
}

var _ ledger.Source = (*source)(nil)

func newSource(ctx context.Context, tx *sql.Tx) (*source, error) {
	listed, err := tx.PrepareContext(ctx, listedQuery)
	if err != nil {
		return nil, err
	}
	blocks, err := tx.PrepareContext(ctx, blocksQuery)
	if err != nil {
		return nil, err
	}
	s := &source{tx: tx, listed: listed, blocks: blocks, visits: make(map[string]*sql.Stmt)}
	return s, s.prepareVisits(ctx)
}

func (s *source) Chains(ctx context.Context) ([]ledger.Head, error) {
	rows, err := s.tx.QueryContext(ctx, "SELECT id, n, sha256 FROM chains ORDER BY ordinal")
	return collect(rows, err, func(rows *sql.Rows) (h ledger.Head, err error) {
		return h, rows.Scan(&h.Chain, &h.N, scan(&h.Hash))
	})
}

func (s *source) Page(ctx context.Context, chain string, n int64, limit int) ([]ledger.Stored, error) {
	rows, err := s.tx.QueryContext(ctx, "SELECT "+recordColumns+` FROM records r
		WHERE r.chain = $1 AND r.n > $2 ORDER BY r.n LIMIT $3`, chain, n, limit)
	page, err := collect(rows, err, func(rows *sql.Rows) (ledger.Stored, error) {
		r, err := scanRecord(rows)
		return ledger.Stored{Record: r}, err
	})
	if err != nil || len(page) == 0 {
		return nil, err
	}
	byN := make(map[int64]*ledger.Stored, len(page))
	for i := range page {
		byN[page[i].N] = &page[i]
	}
	last := page[len(page)-1].N
	if err := s.about(ctx, chain, n, last, byN); err != nil {
		return nil, err
	}
	if err := s.lists(ctx, chain, n, last); err != nil {
		return nil, err
	}
	if err := s.listTrials(ctx, chain, n, last); err != nil {
		return nil, err
	}
	return page, s.texts(ctx, chain, n, last, byN)
}

// lists reads ahead the rows of the list that the end records after n up to last
// will be compared with: one query a page costs less than one a hold.
func (s *source) lists(ctx context.Context, chain string, n, last int64) error {
	s.ended = make(map[string]*ledger.Listed)
	rows, err := s.tx.QueryContext(ctx, "SELECT "+listColumns+` FROM holds WHERE id IN (
		SELECT a.subject FROM records r JOIN about a ON a.chain = r.chain AND a.n = r.n
		WHERE r.chain = $1 AND r.n > $2 AND r.n <= $3 AND r.kind = $4)`, chain, n, last, string(ledger.HoldEnd))
	_, err = collect(rows, err, func(rows *sql.Rows) (struct{}, error) {
		l, err := scanListed(rows)
		s.ended[l.ID] = &l
		return struct{}{}, err
	})
	return err
}

// about fills in the subjects of the records after n up to last.
func (s *source) about(ctx context.Context, chain string, n, last int64, byN map[int64]*ledger.Stored) error {
	rows, err := s.tx.QueryContext(ctx, `SELECT n, subject FROM about
		WHERE chain = $1 AND n > $2 AND n <= $3 ORDER BY n, subject`, chain, n, last)
	_, err = collect(rows, err, func(rows *sql.Rows) (struct{}, error) {
		var at int64
		var subject string
		err := rows.Scan(&at, &subject)
		if r := byN[at]; r != nil {
			r.About = append(r.About, subject)
		}
		return struct{}{}, err
	})
	return err
}

// texts fills in the texts of the records after n up to last.
func (s *source) texts(ctx context.Context, chain string, n, last int64, byN map[int64]*ledger.Stored) error {
	rows, err := s.tx.QueryContext(ctx, `SELECT n, id, salt, body FROM texts
		WHERE chain = $1 AND n > $2 AND n <= $3 ORDER BY n, id`, chain, n, last)
	_, err = collect(rows, err, func(rows *sql.Rows) (struct{}, error) {
		var at int64
		var t ledger.StoredText
		var body sql.NullString
		err := rows.Scan(&at, &t.ID, &t.Salt, &body)
		t.Text.Text, t.Erased = body.String, !body.Valid && t.Salt == nil
		if r := byN[at]; r != nil {
			r.Texts = append(r.Texts, t)
		}
		return struct{}{}, err
	})
	return err
}

func (s *source) Listed(ctx context.Context, hold string) (*ledger.Listed, error) {
	if l := s.ended[hold]; l != nil {
		return l, nil
	}
	return oneListed(s.listed.QueryRowContext(ctx, hold))
}

func (s *source) Blocks(ctx context.Context, hold string, first int64, limit int) ([]ledger.Block, error) {
	rows, err := s.blocks.QueryContext(ctx, hold, first, limit)
	return collectBlocks(rows, err, hold)
}

func (s *source) Totals(ctx context.Context) (holds, voided int64, err error) {
	err = s.tx.QueryRowContext(ctx, "SELECT count(*), coalesce(sum(voided <> 0), 0) FROM holds").Scan(&holds, &voided)
	return holds, voided, err
}
