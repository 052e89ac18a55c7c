package main

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"boretight/internal/ledger"
	"boretight/internal/rig"
)

// schemaRig names the form of a record of the rig, printed or in the ledger.
const schemaRig = "boretight/rig/1"

// rigLine is a record of the rig as it is printed and kept.
type rigLine struct {
	Schema string `json:"schema"`
	rig.Record
}

// rigRecords returns all that the ledger holds of rigs, in the order it was written.
func rigRecords(ctx context.Context, store ledger.Store) ([]rig.Record, error) {
	return rigReader{}.records(ctx, store)
}

// rigReader remembers what it has decoded, by its place in the ledger: records are never
// changed, and those of years of checks are many.
type rigReader map[place]rig.Record

// place is where a record is in a ledger.
type place struct {
	chain string
	n     int64
}

// records returns all that the ledger holds of rigs, in the order it was written.
func (r rigReader) records(ctx context.Context, store ledger.Store) ([]rig.Record, error) {
	kept, err := store.Records(ctx, ledger.RigMeasured)
	if err != nil {
		return nil, fmt.Errorf("read records of the rig: %w", err)
	}
	records := make([]rig.Record, len(kept))
	for i, k := range kept {
		at := place{k.Chain, k.N}
		known, ok := r[at]
		if !ok {
			if known, err = decodeRig(k); err != nil {
				return nil, err
			}
			r[at] = known
		}
		records[i] = known
	}
	return records, nil
}

func decodeRig(k ledger.Record) (rig.Record, error) {
	var line rigLine
	if err := json.Unmarshal(k.Content, &line); err != nil {
		return rig.Record{}, fmt.Errorf("read record %d of the rig in chain %s: %w", k.N, k.Chain, err)
	}
	if line.Schema != schemaRig {
		return rig.Record{}, fmt.Errorf("record %d of the rig in chain %s has the form %q, not known to this program: use the version that wrote it", k.N, k.Chain, line.Schema)
	}
	return line.Record, nil
}

// keepRig appends a record of the rig and returns when it is on the disk. Its identity
// is given here.
func keepRig(ctx context.Context, store ledger.Store, r rig.Record) (rig.Record, error) {
	r.ID = ledger.NewID()
	about := append([]string{r.ID}, r.Holds...)
	if r.Joint != "" {
		about = append(about, r.Joint)
	}
	_, err := store.Append(ctx, ledger.Draft{
		Kind: ledger.RigMeasured, Content: rigLine{schemaRig, r}, About: slices.Compact(about),
	})
	if err != nil {
		return rig.Record{}, fmt.Errorf("record the rig's %s: %w", r.Kind, err)
	}
	return r, nil
}
