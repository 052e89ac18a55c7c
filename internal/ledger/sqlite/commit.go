package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"boretight/internal/ledger"
)

// Commit implements [ledger.Sink].
func (db *DB) Commit(ctx context.Context, b ledger.Batch) (map[string]error, error) {
	var refused map[string]error
	err := db.change(ctx, b.At, func(a *appender) error {
		c := committer{appender: a, batch: b, standing: make(map[string]standing), refused: make(map[string]error)}
		refused = c.refused
		return c.run(ctx)
	})
	if err != nil {
		return nil, fmt.Errorf("commit to ledger %s: %w", db.path, err)
	}
	return refused, nil
}

// standing is how a hold stands towards a batch.
type standing uint8

const (
	unknown standing = iota
	writing          // begun by this writer, open
	done             // all of the batch is there already: its commit had ended in doubt
	refusal
)

// committer writes one batch.
type committer struct {
	*appender
	batch    ledger.Batch
	standing map[string]standing
	refused  map[string]error
}

func (c *committer) run(ctx context.Context) error {
	_, err := c.exec(ctx, `INSERT INTO writers (id, beat) VALUES ($1, 1)
		ON CONFLICT (id) DO UPDATE SET beat = writers.beat + 1`, c.batch.Writer)
	if err != nil {
		return fmt.Errorf("advance beat: %w", err)
	}
	for _, s := range c.batch.Steps {
		if err := c.step(ctx, s); err != nil {
			return fmt.Errorf("hold %s: %w", s.Hold(), err)
		}
	}
	return nil
}

func (c *committer) step(ctx context.Context, s ledger.Step) error {
	id := s.Hold()
	if _, known := c.standing[id]; !known {
		st, err := c.look(ctx, id)
		if err != nil {
			return err
		}
		c.standing[id] = st
	}
	switch st := c.standing[id]; {
	case st == done || st == refusal:
		return nil
	case s.Begin != nil:
		return c.begin(ctx, s.Begin, st)
	case st == unknown:
		return c.refuse(id, ledger.ErrNotOpen)
	case s.Block != nil:
		return c.block(ctx, s.Block)
	default:
		c.standing[id] = done
		return c.end(ctx, *s.End)
	}
}

func (c *committer) refuse(id string, why error) error {
	c.standing[id] = refusal
	c.refused[id] = why
	return nil
}

// look finds how a hold stands before the batch.
func (c *committer) look(ctx context.Context, id string) (standing, error) {
	var writer string
	var end []byte
	err := c.QueryRowContext(ctx, `SELECT h.writer, r.content FROM holds h
		LEFT JOIN records r ON r.chain = h.end_chain AND r.n = h.end_n WHERE h.id = $1`, id).Scan(&writer, &end)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return unknown, nil
	case err != nil:
		return unknown, err
	case writer != c.batch.Writer:
		return refusal, c.refuse(id, ledger.ErrInUse)
	case end == nil:
		return writing, nil
	}
	for _, s := range c.batch.Steps {
		if s.End == nil || s.End.ID != id {
			continue
		}
		mine, err := ledger.Canonical(s.End)
		if err != nil {
			return unknown, err
		}
		if bytes.Equal(mine, end) {
			return done, nil
		}
	}
	return refusal, c.refuse(id, ledger.ErrInterrupted)
}

func (c *committer) begin(ctx context.Context, b *ledger.Begin, st standing) error {
	if st == writing {
		return nil // there from a commit that had ended in doubt
	}
	content, err := ledger.Canonical(b)
	if err != nil {
		return err
	}
	r, err := c.record(ctx, ledger.HoldBegin, content, nil)
	if err != nil {
		return err
	}
	_, err = c.exec(ctx, `INSERT INTO holds (id, begin_chain, begin_n, writer, started_us,
		gauge, bench, instrument, joint, section, closure, occasion, ticket)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`,
		b.ID, r.Chain, r.N, b.Writer, b.Started.UnixMicro(),
		b.Gauge, b.Bench, b.Instrument, b.Joint, b.Section, b.Closure, b.When, b.Ticket)
	if err != nil {
		return fmt.Errorf("list the hold: %w", err)
	}
	c.standing[b.ID] = writing
	return nil
}

func (c *committer) block(ctx context.Context, b *ledger.Block) error {
	_, err := c.exec(ctx, `INSERT INTO blocks (hold, first, count, data, running)
		VALUES ($1, $2, $3, $4, $5) ON CONFLICT (hold, first) DO NOTHING`,
		b.Hold, b.First, b.Count, b.Data, b.Running[:])
	if err != nil {
		return fmt.Errorf("write readings from %d on: %w", b.First, err)
	}
	return nil
}

// end appends the end record and completes the row of the list.
func (a *appender) end(ctx context.Context, e ledger.End) error {
	content, err := ledger.Canonical(e)
	if err != nil {
		return err
	}
	r, err := a.record(ctx, ledger.HoldEnd, content, nil)
	if err != nil {
		return err
	}
	row, err := ledger.NewEntry(ledger.Begin{ID: e.ID}, &e)
	if err != nil {
		return err
	}
	_, err = a.exec(ctx, `UPDATE holds SET end_chain = $1, end_n = $2, ended_us = $3, sign = $4,
		verdict = $5, leak_rate = $6, leak_rate_u = $7, sccm = $8, sccm_u = $9, readings = $10, lost = $11,
		interrupted = $12 WHERE id = $13`,
		r.Chain, r.N, e.Ended.UnixMicro(), row.Sign, row.Verdict, row.LeakRate, row.U, row.SCCM, row.USCCM,
		row.Readings, row.Lost, number(row.Interrupted), e.ID)
	if err != nil {
		return fmt.Errorf("list the end: %w", err)
	}
	return nil
}

func number(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// Abandoned implements [ledger.Sink].
func (db *DB) Abandoned(ctx context.Context, writer string) ([]ledger.OpenHold, error) {
	rows, err := db.read.QueryContext(ctx, `SELECT h.id, h.writer, coalesce(w.beat, -1) FROM holds h
		LEFT JOIN writers w ON w.id = h.writer WHERE h.ended_us IS NULL AND h.writer <> $1`, writer)
	return collect(rows, err, func(rows *sql.Rows) (h ledger.OpenHold, err error) {
		return h, rows.Scan(&h.ID, &h.Writer, &h.Beat)
	})
}

// Interrupt implements [ledger.Sink].
func (db *DB) Interrupt(ctx context.Context, h ledger.OpenHold, at time.Time) (bool, error) {
	ended := false
	err := db.change(ctx, at, func(a *appender) error {
		var beat int64
		err := a.QueryRowContext(ctx, `SELECT coalesce(w.beat, -1) FROM holds h
			LEFT JOIN writers w ON w.id = h.writer
			WHERE h.id = $1 AND h.writer = $2 AND h.ended_us IS NULL`, h.ID, h.Writer).Scan(&beat)
		if errors.Is(err, sql.ErrNoRows) || err == nil && beat != h.Beat {
			return nil
		}
		if err != nil {
			return err
		}
		blocks, err := blocks(ctx, a, h.ID, 0, -1)
		if err != nil {
			return err
		}
		ended = true
		return a.end(ctx, ledger.InterruptedEnd(h.ID, blocks, at))
	})
	if err != nil {
		return false, fmt.Errorf("end interrupted hold %s: %w", h.ID, err)
	}
	return ended, nil
}

// Leave implements [ledger.Sink].
func (db *DB) Leave(ctx context.Context, writer string) error {
	if err := db.writable(); err != nil {
		return err
	}
	_, err := db.write.ExecContext(ctx, `DELETE FROM writers WHERE id = $1
		AND NOT EXISTS (SELECT 1 FROM holds WHERE writer = $1 AND ended_us IS NULL)`, writer)
	return classify(err)
}
