package ledger

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"reflect"
	"slices"
	"time"

	"boretight/internal/trace"
)

// Source is what an audit reads: one unchanging view of a store.
type Source interface {
	// Chains returns the heads of all chains, in the order in which they were begun.
	Chains(ctx context.Context) ([]Head, error)
	// Page returns up to limit records of a chain after number n, in order.
	Page(ctx context.Context, chain string, n int64, limit int) ([]Stored, error)
	// Listed returns the row of the list of holds, or nil.
	Listed(ctx context.Context, hold string) (*Listed, error)
	// Blocks returns up to limit blocks of a hold, from index first on, in order.
	Blocks(ctx context.Context, hold string, first int64, limit int) ([]Block, error)
	// Totals returns the number of rows in the list of holds and of those voided.
	Totals(ctx context.Context) (holds, voided int64, err error)
	// ListedTrial returns the row of the list of trials, or nil, and TrialsListed the number of rows.
	ListedTrial(ctx context.Context, id string) (*ListedTrial, error)
	TrialsListed(ctx context.Context) (int64, error)
	TicketSource
}

// Stored is a record with what the store keeps beside it.
type Stored struct {
	Record
	About []string // sorted
	Texts []StoredText
}

// StoredText is a text; Erased if only its place is left.
type StoredText struct {
	Text
	Erased bool
}

// Listed is a row of the list of holds, with the records that it comes from. End
// is zero while the hold is open; the hashes of both are not filled in.
type Listed struct {
	Entry
	Writer     string
	Begin, End Head
}

// Audited is what an audit found, and the holds that have no end.
type Audited struct {
	Report
	Open []string
}

const (
	recordPage = 1000
	blockPage  = 64
)

// Audit walks all chains of a store from their first records: links, hashes and
// numbers of the records, the pairing of begins and ends, the readings of each hold
// with their counts and hashes, the texts, and the lists derived from all that. The
// first fault is reported; it goes on to count the rest. An error means that the
// store could not be read.
func Audit(ctx context.Context, src Source) (Audited, error) {
	a := auditor{src: src, begins: make(map[string]begun), voided: make(map[string]bool)}
	a.Schema = SchemaCheck
	chains, err := src.Chains(ctx)
	if err != nil {
		return a.Audited, err
	}
	var from *Head
	for _, c := range chains {
		if err := a.chain(ctx, c, from); err != nil {
			return a.Audited, fmt.Errorf("audit chain %s: %w", c.Chain, err)
		}
		from = &c
	}
	if err := a.finish(ctx); err != nil {
		return a.Audited, err
	}
	a.OK = a.FirstFault == nil
	return a.Audited, nil
}

// Fault notes a fault, if it is the first.
func (r *Report) Fault(format string, args ...any) {
	r.OK = false
	if r.FirstFault == nil {
		s := fmt.Sprintf(format, args...)
		r.FirstFault = &s
	}
}

type auditor struct {
	Audited
	src    Source
	begins map[string]begun // holds without an end so far
	voided map[string]bool
	// trials and visits count the rows of lists that name a record walked over.
	trials int64
	visits TicketTotals
}

type begun struct {
	begin Begin
	at    Head
}

// chain walks one chain. from is the head of the chain before it in the file.
func (a *auditor) chain(ctx context.Context, end Head, from *Head) error {
	head := Head{Chain: end.Chain}
	for {
		page, err := a.src.Page(ctx, end.Chain, head.N, recordPage)
		if err != nil {
			return err
		}
		for _, r := range page {
			a.Records++
			if err := r.Follows(head); err != nil {
				a.Fault("chain %s, record %d: %v", r.Chain, r.N, err)
			}
			if err := a.record(ctx, r, from); err != nil {
				return err
			}
			head = r.Record.Head()
		}
		if len(page) < recordPage {
			break
		}
	}
	if head != end {
		a.Fault("chain %s: the head is record %d (%.12s…), the chain ends at record %d (%.12s…)",
			end.Chain, end.N, end.Hash, head.N, head.Hash)
	}
	return nil
}

// record looks at one record's content and at what is kept beside it.
func (a *auditor) record(ctx context.Context, r Stored, from *Head) error {
	where := fmt.Sprintf("chain %s, record %d (%s)", r.Chain, r.N, r.Kind)
	if (r.N == 1) != (r.Kind == ChainBegin) {
		a.Fault("%s: a chain begins with its %s record and has no other", where, ChainBegin)
	}
	a.beside(where, r)
	switch r.Kind {
	case ChainBegin:
		var o Origin
		if err := json.Unmarshal(r.Content, &o); err != nil || !reflect.DeepEqual(o.From, from) {
			a.Fault("%s: does not name the head of the chain before it", where)
		}
	case HoldBegin:
		a.begin(where, r.Record)
	case HoldEnd:
		return a.end(ctx, where, r.Record)
	case TrialDone:
		return a.trial(ctx, where, r.Record)
	case TicketKept:
		return a.ticket(ctx, where, r.Record)
	case CustomerKept:
		return a.customer(ctx, where, r.Record)
	case HoldVoid:
		var v Void
		if err := json.Unmarshal(r.Content, &v); err != nil {
			a.Fault("%s: content: %v", where, err)
		}
		a.voided[v.ID] = true
	}
	return nil
}

// beside checks subjects and texts of a record.
func (a *auditor) beside(where string, r Stored) {
	want, err := Subjects(r.Kind, r.Content, r.About)
	if err != nil {
		a.Fault("%s: %v", where, err)
	}
	if !slices.Equal(want, r.About) {
		a.Fault("%s: listed as about %q, its content says %q", where, r.About, want)
	}
	for _, s := range r.About {
		if !Names(r.Content, s) {
			a.Fault("%s: listed as about %q, which its content does not name", where, s)
		}
	}
	for _, t := range r.Texts {
		switch {
		case !Names(r.Content, t.ID):
			a.Fault("%s: text %s is not named in the record", where, t.ID)
		case !t.Erased && !Names(r.Content, t.Ref().SHA256.String()):
			a.Fault("%s: text %s does not match its SHA-256", where, t.ID)
		}
	}
}

func (a *auditor) begin(where string, r Record) {
	a.Holds++
	var b Begin
	if err := json.Unmarshal(r.Content, &b); err != nil {
		a.Fault("%s: content: %v", where, err)
		return
	}
	if _, twice := a.begins[b.ID]; twice {
		a.Fault("%s: hold %s begins twice", where, b.ID)
	}
	a.begins[b.ID] = begun{b, r.Head()}
}

func (a *auditor) end(ctx context.Context, where string, r Record) error {
	var e End
	if err := json.Unmarshal(r.Content, &e); err != nil {
		a.Fault("%s: content: %v", where, err)
		return nil
	}
	if e.Interrupted {
		a.Interrupted++
	}
	b, ok := a.begins[e.ID]
	if !ok {
		a.Fault("%s: hold %s ends without a begin", where, e.ID)
		return nil
	}
	delete(a.begins, e.ID)
	if err := a.listed(ctx, b, &e, r.Head()); err != nil {
		return err
	}
	return a.readings(ctx, e.ID, &e)
}

// listed compares the row of the list with the records.
func (a *auditor) listed(ctx context.Context, b begun, e *End, end Head) error {
	got, err := a.src.Listed(ctx, b.begin.ID)
	if err != nil {
		return err
	}
	where := "hold " + b.begin.ID
	if got == nil {
		a.Fault("%s: not in the list of holds", where)
		return nil
	}
	want, err := NewEntry(b.begin, e)
	if err != nil {
		a.Fault("%s: %v", where, err)
		return nil
	}
	want.Voided = got.Voided // counted in finish: a void may come later in the walk
	if got.Voided {
		a.listedVoid(b.begin.ID)
	}
	if f := difference(got.Entry, want); f != "" {
		a.Fault("%s: the list differs from the records in %s", where, f)
	}
	end.Hash, b.at.Hash = Digest{}, Digest{}
	if got.Begin != b.at || got.End != end || got.Writer != b.begin.Writer {
		a.Fault("%s: the list points to other records or another writer", where)
	}
	return nil
}

// listedVoid notes that the list shows a hold as voided; false stays until its
// record is seen.
func (a *auditor) listedVoid(id string) {
	if !a.voided[id] {
		a.voided[id] = false
	}
}

// difference names the first field in which two entries differ.
func difference(a, b Entry) string {
	x, y := reflect.ValueOf(a), reflect.ValueOf(b)
	for i := range x.NumField() {
		p, q := x.Field(i).Interface(), y.Field(i).Interface()
		if t, ok := p.(time.Time); ok && t.Equal(q.(time.Time)) {
			continue
		}
		if !reflect.DeepEqual(p, q) {
			return x.Type().Field(i).Name
		}
	}
	return ""
}

// readings checks a hold's blocks: their bytes, indices and running hashes, and, if
// the hold has ended, their count and hash. e is nil for an open hold.
func (a *auditor) readings(ctx context.Context, id string, e *End) error {
	w := blockWalk{hold: id, sum: sha256.New()}
	for {
		page, err := a.src.Blocks(ctx, id, w.next, blockPage)
		if err != nil {
			return err
		}
		for _, b := range page {
			if err := w.take(b); err != nil {
				a.Fault("hold %s, block at reading %d: %v", id, b.First, err)
				return nil
			}
		}
		if len(page) < blockPage {
			break
		}
	}
	if e == nil {
		return nil
	}
	if err := w.matches(*e); err != nil {
		a.Fault("hold %s: %v", id, err)
	}
	return nil
}

// finish looks at what the walk has left over.
func (a *auditor) finish(ctx context.Context) error {
	for id, b := range a.begins {
		a.Open = append(a.Open, id)
		if err := a.listed(ctx, b, nil, Head{}); err != nil {
			return err
		}
		if err := a.readings(ctx, id, nil); err != nil {
			return err
		}
	}
	slices.Sort(a.Open)
	holds, voided, err := a.src.Totals(ctx)
	if err != nil {
		return err
	}
	for id, recorded := range a.voided {
		if !recorded {
			a.Fault("hold %s: listed as void without a record", id)
		}
	}
	if voided != int64(len(a.voided)) {
		a.Fault("the list shows %d holds as void, the records %d", voided, len(a.voided))
	}
	if holds != a.Holds {
		a.Fault("the list has %d holds, the records %d", holds, a.Holds)
	}
	return errors.Join(a.trialsListed(ctx), a.ticketsListed(ctx))
}

// blockWalk goes over the blocks of one hold.
type blockWalk struct {
	hold      string
	sum       hash.Hash
	next      int64 // index expected
	kept      int64
	lost, gap int64
}

func (w *blockWalk) take(b Block) error {
	switch {
	case b.Hold != w.hold || b.First < w.next:
		return fmt.Errorf("overlaps the block before it")
	case b.Count <= 0 || int64(len(b.Data)) != b.Count*readingSize:
		return fmt.Errorf("%d bytes for %d readings", len(b.Data), b.Count)
	}
	if b.First > w.next {
		w.lost += b.First - w.next
		w.gap++
	}
	w.sum.Write(b.Data)
	if digest(w.sum) != b.Running {
		return fmt.Errorf("readings do not match the running SHA-256")
	}
	w.next = b.First + b.Count
	w.kept += b.Count
	return nil
}

// matches compares what was walked with the end record. Readings lost after the
// last block are known to the end record alone.
func (w *blockWalk) matches(e End) error {
	lost, gaps := w.lost, w.gap
	if e.LostReadings > lost {
		lost, gaps = e.LostReadings, gaps+1
	}
	switch {
	case w.kept != e.Readings:
		return fmt.Errorf("%d readings, the end record says %d", w.kept, e.Readings)
	case digest(w.sum) != e.SHA256:
		return fmt.Errorf("readings do not match the SHA-256 of the end record")
	case lost != e.LostReadings || gaps != e.Gaps:
		return fmt.Errorf("%d readings are missing in %d places, the end record says %d in %d",
			lost, gaps, e.LostReadings, e.Gaps)
	}
	return nil
}

// InterruptedEnd returns the end of a hold from the blocks that are there.
func InterruptedEnd(hold string, blocks []Block, at time.Time) End {
	w := blockWalk{hold: hold, sum: sha256.New()}
	for _, b := range blocks {
		if w.take(b) != nil {
			break // an audit will say so
		}
	}
	return End{
		ID: hold, Readings: w.kept, SHA256: digest(w.sum), LostReadings: w.lost, Gaps: w.gap,
		Interrupted: true, Ended: at.UTC().Truncate(time.Microsecond),
	}
}

// Join returns the readings of a hold's blocks, after checking them against their
// running hashes and, if the hold has ended, against its end. What does not match
// wraps [ErrDamaged].
func Join(hold string, blocks []Block, e *End) ([]trace.Reading, error) {
	w := blockWalk{hold: hold, sum: sha256.New()}
	var all []trace.Reading
	for _, b := range blocks {
		if err := w.take(b); err != nil {
			return nil, fmt.Errorf("block at reading %d: %w: %w", b.First, ErrDamaged, err)
		}
		rs, err := b.Readings()
		if err != nil {
			return nil, err
		}
		all = append(all, rs...)
	}
	if e == nil {
		return all, nil
	}
	if err := w.matches(*e); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return all, nil
}
