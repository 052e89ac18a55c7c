package ledger

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// NewEntry derives the row of the list from a hold's records; end is nil while it
// is open. Whether it was voided is for the caller to say.
func NewEntry(b Begin, end *End) (Entry, error) {
	e := Entry{
		ID: b.ID, Started: whole(b.Started), Gauge: b.Gauge, Bench: b.Bench, Instrument: b.Instrument,
		Joint: b.Joint, Section: b.Section, Closure: b.Closure, When: b.When, Ticket: b.Ticket,
	}
	if end == nil {
		return e, nil
	}
	e.Ended, e.Readings, e.Lost, e.Interrupted = whole(end.Ended), end.Readings, end.LostReadings, end.Interrupted
	o, err := end.Judged()
	if err != nil {
		return e, err
	}
	e.Sign, e.Verdict = o.Sign, string(o.Verdict)
	if o.LeakRate != nil {
		e.LeakRate, e.U = &o.LeakRate.Value, &o.LeakRate.U
	}
	if o.SCCM != nil {
		e.SCCM, e.USCCM = &o.SCCM.Value, &o.SCCM.U
	}
	return e, nil
}

// whole returns a time as it is stored: UTC, whole microseconds.
func whole(t time.Time) time.Time { return time.UnixMicro(t.UnixMicro()).UTC() }

// Subjects returns what a record concerns, sorted and each once: for the kinds that
// the ledger knows, what the content says; for others the given names.
func Subjects(kind RecordKind, content []byte, given []string) ([]string, error) {
	var c struct {
		Hold       string   `json:"hold"`
		ID         string   `json:"id"`
		Holds      []string `json:"hold_ids"`
		About      string   `json:"about"`
		Ticket     string   `json:"ticket"`
		Of         string   `json:"of"`
		Instrument string   `json:"instrument_id"`
		Customer   string   `json:"customer_id"`
	}
	var names []string
	switch kind {
	case ChainBegin:
		return nil, nil
	case HoldBegin, HoldEnd, HoldVoid, TrialDone, NoteMade, TicketKept, WorkDone, CustomerKept:
		if err := json.Unmarshal(content, &c); err != nil {
			return nil, fmt.Errorf("read content of a %s record: %w", kind, err)
		}
		names = append([]string{c.Hold, c.ID, c.About, c.Ticket, c.Of, c.Instrument, c.Customer}, c.Holds...)
	default:
		names = slices.Clone(given)
	}
	names = slices.DeleteFunc(names, func(s string) bool { return s == "" })
	slices.Sort(names)
	return slices.Compact(names), nil
}

// Names reports whether a content holds the name as a JSON string.
func Names(content []byte, name string) bool {
	quoted, err := Canonical(name)
	return err == nil && bytes.Contains(content, quoted)
}
