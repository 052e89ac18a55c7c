package ledgertest

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// Run tests a store against the contract. newStore returns an Open for a store of
// its own at each call.
func Run(t *testing.T, newStore func(t *testing.T) Open) {
	for _, c := range []struct {
		name string
		test func(t *testing.T, s ledger.Store)
	}{
		{"a new ledger is sound and holds nothing but the begin of its chain", empty},
		{"a hold comes back as it was measured", wholeHold},
		{"holds are listed newest first, page by page", pages},
		{"a list shows what its filter asks for", filters},
		{"holds of many gauges are written side by side", manyGauges},
		{"records about a thing are found in order", about},
		{"a void marks a hold and keeps it", voids},
		{"trials are listed newest first", trials},
		{"a trial that grew is listed once, as it is now", grownTrials},
		{"holds and trials are found by how they begin", prefixes},
		{"a text can be erased and the ledger stays sound", erasure},
		{"a batch given again changes nothing", again},
		{"the identity of a hold is not used twice", inUse},
		{"the hold of a writer that is gone is ended and marked", interrupted},
		{"a writer that lives keeps its hold", alive},
		{"a writer taken for dead learns that its hold is lost", takenOver},
		{"what only a writer may append is refused", refusals},
		{"a ticket comes back as it was kept, under the next number", keptTickets},
		{"a ticket that cannot be kept leaves nothing behind", refusedTickets},
		{"a ticket that changed is recorded whole again", changedTickets},
		{"an instrument that comes again is the same one", comesAgain},
		{"a change of an old ticket leaves what a later one told of the instrument", instrumentKnownBetter},
		{"no number is given twice, nor one that was a label", numbers},
		{"work is kept with its visit", workDone},
		{"words find tickets, their holds and their trials", searches},
		{"lists show one instrument, one section, one occasion", narrowed},
		{"what a page asks for beside its lists", lookups},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newStore(t)(t)
			defer func() { assert.NoError(t, s.Close()) }()
			c.test(t, s)
			Sound(t, s)
		})
	}
	t.Run("all is there after closing and opening again", func(t *testing.T) { reopen(t, newStore(t)) })
}

func empty(t *testing.T, s ledger.Store) {
	r := Sound(t, s)
	assert.Equal(t, ledger.Report{Schema: ledger.SchemaCheck, Records: 1, OK: true}, r)
	_, err := s.Hold(t.Context(), ledger.NewID())
	assert.ErrorIs(t, err, ledger.ErrNotFound)
	_, err = s.Text(t.Context(), ledger.NewID())
	assert.ErrorIs(t, err, ledger.ErrNotFound)
}

func wholeHold(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	b := Begin("north")
	rs := Write(t, w, b, 777, Outcome(trial.Pass, 2.16))

	h, err := s.Hold(t.Context(), b.ID)
	require.NoError(t, err)
	Same(t, rs, h.Trace.Readings)
	require.NotNil(t, h.End)
	assert.EqualValues(t, 777, h.End.Readings)
	assert.False(t, h.End.Interrupted)
	o, err := h.End.Judged()
	require.NoError(t, err)
	assert.Equal(t, Outcome(trial.Pass, 2.16), o)
	h.Begin.Writer = ""
	b.Started = b.Started.UTC().Truncate(time.Microsecond)
	assert.Equal(t, b, h.Begin)

	n, err := s.Count(t.Context())
	require.NoError(t, err)
	assert.EqualValues(t, 3, n)
}

func pages(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	var ids []string
	for range 7 {
		b := Begin("north")
		Write(t, w, b, 3, Outcome(trial.Pass, 1))
		ids = append([]string{b.ID}, ids...)
	}
	var got []string
	before := ""
	for {
		page, err := s.Holds(t.Context(), ledger.Filter{Limit: 3, Before: before})
		require.NoError(t, err)
		for _, e := range page {
			got = append(got, e.ID)
			before = e.ID
		}
		if len(page) < 3 {
			break
		}
	}
	assert.Equal(t, ids, got)
}

func filters(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	mine, other := Begin("north"), Begin("south")
	other.Ticket, other.Instrument, other.Joint = "T-18", "flute", "body"
	Write(t, w, mine, 3, Outcome(trial.Pass, 1))
	Write(t, w, other, 3, trial.Outcome{Schema: trial.SchemaHold, Verdict: trial.Inconclusive})
	for _, f := range []ledger.Filter{
		{Ticket: "T-18"}, {Instrument: "flute"}, {Joint: "body"}, {Gauge: "south"}, {Verdict: "inconclusive"},
		{Ticket: "T-18", Gauge: "south"},
	} {
		got, err := s.Holds(t.Context(), f)
		require.NoError(t, err)
		require.Len(t, got, 1, "%+v", f)
		assert.Equal(t, other.ID, got[0].ID, "%+v", f)
		assert.Nil(t, got[0].LeakRate)
	}
	got, err := s.Holds(t.Context(), ledger.Filter{Ticket: "T-17", Gauge: "south"})
	require.NoError(t, err)
	assert.Empty(t, got)
}

func manyGauges(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			b := Begin("north")
			assert.NoError(t, w.BeginHold(b))
			for k := range 20 {
				assert.NoError(t, w.AppendReadings(b.ID, Readings(50*k, 50, 1000)))
			}
			r, err := w.EndHold(b.ID, Outcome(trial.Pass, 1))
			if assert.NoError(t, err) {
				assert.NoError(t, r.Wait(t.Context()))
			}
			h, err := s.Hold(t.Context(), b.ID)
			if assert.NoError(t, err) {
				assert.Len(t, h.Trace.Readings, 1000)
			}
		})
	}
	all.Wait()
	assert.EqualValues(t, 8, Sound(t, s).Holds)
}

func about(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	b := Begin("north")
	Write(t, w, b, 3, Outcome(trial.Pass, 1))
	_, err := s.Append(t.Context(), ledger.NoteDraft(b.ID, "pad 3 looked grey"))
	require.NoError(t, err)
	_, err = s.Append(t.Context(), ledger.Draft{
		Kind: "ticket-opened", Content: map[string]string{"ticket": "T-17"}, About: []string{"T-17"}})
	require.NoError(t, err)

	rs, err := s.About(t.Context(), b.ID)
	require.NoError(t, err)
	assert.Equal(t, []ledger.RecordKind{ledger.HoldBegin, ledger.HoldEnd, ledger.NoteMade}, kinds(rs))
	rs, err = s.About(t.Context(), "T-17")
	require.NoError(t, err)
	assert.Equal(t, []ledger.RecordKind{ledger.HoldBegin, "ticket-opened"}, kinds(rs))
	each, err := s.AboutEach(t.Context(), []string{"T-17", b.ID, "T-18"})
	require.NoError(t, err)
	assert.Len(t, each, 2, "of T-18 nothing is known")
	assert.Equal(t, rs, each["T-17"])
	assert.Equal(t, []ledger.RecordKind{ledger.HoldBegin, ledger.HoldEnd, ledger.NoteMade}, kinds(each[b.ID]))
	rs, err = s.Records(t.Context(), "ticket-opened")
	require.NoError(t, err)
	require.Len(t, rs, 1)
	assert.JSONEq(t, `{"ticket":"T-17"}`, string(rs[0].Content))
}

func kinds(rs []ledger.Record) (ks []ledger.RecordKind) {
	for _, r := range rs {
		ks = append(ks, r.Kind)
	}
	return ks
}

func voids(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	b := Begin("north")
	rs := Write(t, w, b, 30, Outcome(trial.Fail, 9))
	_, err := s.Append(t.Context(), ledger.VoidDraft(b.ID, "a finger slipped"))
	require.NoError(t, err)
	_, err = s.Append(t.Context(), ledger.VoidDraft(ledger.NewID(), "no such hold"))
	require.ErrorIs(t, err, ledger.ErrNotFound)

	h, err := s.Hold(t.Context(), b.ID)
	require.NoError(t, err)
	assert.True(t, h.Voided)
	assert.Equal(t, "a finger slipped", h.VoidReason)
	assert.WithinDuration(t, time.Now(), h.VoidedAt, time.Minute)
	Same(t, rs, h.Trace.Readings)
	list, err := s.Holds(t.Context(), ledger.Filter{})
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.True(t, list[0].Voided)

	other := Begin("north")
	Write(t, w, other, 3, Outcome(trial.Pass, 1))
	voided, err := s.Voided(t.Context(), []string{other.ID, list[0].ID, ledger.NewID()})
	require.NoError(t, err)
	assert.Equal(t, []string{list[0].ID}, voided)
	voided, err = s.Voided(t.Context(), nil)
	require.NoError(t, err)
	assert.Empty(t, voided)
}

func trials(t *testing.T, s ledger.Store) {
	var ids []string
	for i := range 5 {
		tr := ledger.Trial{ID: ledger.NewID(), Holds: []string{ledger.NewID()}, Instrument: "oboe", Joint: "upper",
			Ticket: "T-1", Result: trial.Trial{Schema: trial.SchemaTrial, Holds: 1, Verdict: trial.Pass}}
		if i%2 == 1 {
			tr.Ticket, tr.Joint = "T-2", "lower"
		}
		_, err := s.Append(t.Context(), tr.Draft())
		require.NoError(t, err)
		ids = append([]string{tr.ID}, ids...)
	}
	for _, c := range []struct {
		filter ledger.Filter
		want   []string
	}{
		{ledger.Filter{}, ids},
		{ledger.Filter{Limit: 2}, ids[:2]},
		{ledger.Filter{Limit: 2, Before: ids[1]}, ids[2:4]},
		{ledger.Filter{Ticket: "T-2"}, []string{ids[1], ids[3]}},
		{ledger.Filter{Joint: "lower", Before: ids[1]}, []string{ids[3]}},
		{ledger.Filter{Verdict: "fail"}, nil},
	} {
		got, err := s.Trials(t.Context(), c.filter)
		require.NoError(t, err)
		var gotIDs []string
		for _, e := range got {
			gotIDs = append(gotIDs, e.ID)
		}
		assert.Equal(t, c.want, gotIDs, "%+v", c.filter)
	}
	_, err := s.Trials(t.Context(), ledger.Filter{Before: ledger.NewID()})
	assert.ErrorIs(t, err, ledger.ErrNotFound)
}

func erasure(t *testing.T, s ledger.Store) {
	d := ledger.NoteDraft("T-17", "asked for by the owner's son")
	id := d.Texts[0].ID
	_, err := s.Append(t.Context(), d)
	require.NoError(t, err)
	got, err := s.Text(t.Context(), id)
	require.NoError(t, err)
	assert.Equal(t, d.Texts[0], got)
	Sound(t, s)

	require.NoError(t, s.Erase(t.Context(), id))
	_, err = s.Text(t.Context(), id)
	assert.ErrorIs(t, err, ledger.ErrNotFound)
	assert.ErrorIs(t, s.Erase(t.Context(), id), ledger.ErrNotFound)
}

func again(t *testing.T, s ledger.Store) {
	b := Begin("north")
	b.Writer = ledger.NewID()
	batch := wholeBatch(b)
	for range 3 {
		refused, err := s.Commit(t.Context(), batch)
		require.NoError(t, err)
		assert.Empty(t, refused)
	}
	n, err := s.Count(t.Context())
	require.NoError(t, err)
	assert.EqualValues(t, 3, n)
}

// wholeBatch is a batch with a hold from begin to end.
func wholeBatch(b ledger.Begin) ledger.Batch {
	var data []byte
	for _, r := range Readings(0, 10, 100) {
		data = ledger.AppendReading(data, r)
	}
	sum := ledger.Sum(data)
	end := ledger.End{ID: b.ID, Readings: 10, SHA256: sum, Ended: time.Now().UTC(), Outcome: []byte(`{}`)}
	return ledger.Batch{Writer: b.Writer, At: time.Now(), Steps: []ledger.Step{
		{Begin: &b}, {Block: &ledger.Block{Hold: b.ID, Count: 10, Data: data, Running: sum}}, {End: &end}}}
}

func inUse(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	b := Begin("north")
	Write(t, w, b, 5, Outcome(trial.Pass, 1))
	b.Gauge = "south"
	w2, stop2 := Start(t, s)
	defer stop2()
	require.NoError(t, w2.BeginHold(b))
	r, err := w2.EndHold(b.ID, Outcome(trial.Fail, 8))
	require.NoError(t, err)
	assert.ErrorIs(t, r.Wait(t.Context()), ledger.ErrInUse)
	assert.NoError(t, w2.State().Err)
}

func refusals(t *testing.T, s ledger.Store) {
	for _, d := range []ledger.Draft{
		{Kind: "", Content: 1},
		{Kind: ledger.HoldEnd, Content: ledger.End{}},
		{Kind: "rig", Content: map[string]string{"a": "b"}, About: []string{"c"}},
		{Kind: "rig", Content: map[string]string{"a": "b"}, Texts: []ledger.Text{ledger.NewText("x")}},
	} {
		_, err := s.Append(t.Context(), d)
		assert.Error(t, err, "%+v", d)
	}
}

func reopen(t *testing.T, open Open) {
	s := open(t)
	w, stop := Start(t, s)
	b := Begin("north")
	rs := Write(t, w, b, 50, Outcome(trial.Pass, 1))
	stop()
	before := Sound(t, s)
	require.NoError(t, s.Close())

	s = open(t)
	defer func() { assert.NoError(t, s.Close()) }()
	h, err := s.Hold(t.Context(), b.ID)
	require.NoError(t, err)
	Same(t, rs, h.Trace.Readings)
	assert.Equal(t, before, Sound(t, s))
}
