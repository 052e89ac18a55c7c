package ledger

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"
)

// Digest is a SHA-256.
type Digest [sha256.Size]byte

// String returns the digest as 64 lower-case hex digits.
func (d Digest) String() string { return hex.EncodeToString(d[:]) }

// MarshalText writes the form of [Digest.String].
func (d Digest) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads 64 hex digits.
func (d *Digest) UnmarshalText(text []byte) error {
	if len(text) != hex.EncodedLen(len(d)) {
		return fmt.Errorf("digest of %d characters, want %d", len(text), hex.EncodedLen(len(d)))
	}
	_, err := hex.Decode(d[:], text)
	return err
}

// RecordKind says what a record's content is. Kinds not named here may be appended
// by any package; the ledger keeps them without looking inside.
type RecordKind string

// The kinds that the ledger itself knows.
const (
	// ChainBegin is the first record of every chain; its content is an [Origin].
	ChainBegin RecordKind = "chain-begin"
	// HoldBegin's content is a [Begin].
	HoldBegin RecordKind = "hold-begin"
	// HoldEnd's content is an [End].
	HoldEnd RecordKind = "hold-end"
	// TrialDone's content is a [Trial].
	TrialDone RecordKind = "trial"
	// HoldVoid's content is a [Void].
	HoldVoid RecordKind = "void"
	// NoteMade's content is a [Note].
	NoteMade RecordKind = "note"
	// RigMeasured's content is a rig.Record with its schema; the ledger does not look inside.
	RigMeasured RecordKind = "rig"
)

// Head is the place of a record in its chain, with its hash. The zero Head is
// before any chain.
type Head struct {
	Chain string `json:"chain"`
	N     int64  `json:"n"` // from 1
	Hash  Digest `json:"sha256"`
}

// Record is one entry of a chain.
type Record struct {
	Chain string
	N     int64 // from 1, without gaps
	// At is the UTC time of writing, in whole microseconds.
	At   time.Time
	Kind RecordKind
	// Content is the JSON exactly as it was hashed.
	Content []byte
	// ContentHash is the SHA-256 of Content, Prev the hash of record N-1 (zero for
	// the first) and Hash that of this one.
	ContentHash, Prev, Hash Digest
}

// Origin is the content of a chain's first record.
type Origin struct {
	// From is the head of the copy that this chain goes on from; nil in a new ledger.
	From *Head `json:"from"`
}

// NewID returns an identity for a hold, a ticket or a text: a UUID of version 7,
// which sorts by the time it was made.
func NewID() string { return uuid.Must(uuid.NewV7()).String() }

// Canonical returns the bytes of a content: JSON in one line, fields in the order
// of the Go type, no HTML escapes. NaN and infinities are an error.
func Canonical(content any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(content); err != nil {
		return nil, fmt.Errorf("write content of a record as JSON: %w", err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// Next returns the record that follows the head with the given content.
func (h Head) Next(at time.Time, kind RecordKind, content []byte) Record {
	r := Record{
		Chain: h.Chain, N: h.N + 1, At: at.UTC().Truncate(time.Microsecond), Kind: kind,
		Content: content, ContentHash: sha256.Sum256(content), Prev: h.Hash,
	}
	r.Hash = r.sum()
	return r
}

// Head returns the record's own place.
func (r Record) Head() Head { return Head{r.Chain, r.N, r.Hash} }

// sum hashes the record: a line that names the layout, then chain and kind with
// their lengths before them (uint16), n and time (µs since 1970) as 64 bits, all
// little-endian, then the two digests.
func (r Record) sum() Digest {
	b := append(make([]byte, 0, 192), "boretight/record/1\n"...)
	text := func(s string) {
		b = binary.LittleEndian.AppendUint16(b, uint16(len(s)))
		b = append(b, s...)
	}
	text(r.Chain)
	b = binary.LittleEndian.AppendUint64(b, uint64(r.N))
	b = binary.LittleEndian.AppendUint64(b, uint64(r.At.UnixMicro()))
	text(string(r.Kind))
	b = append(b, r.ContentHash[:]...)
	b = append(b, r.Prev[:]...)
	return sha256.Sum256(b)
}

// Follows returns an error that says in what way r is not the sound successor of h.
func (r Record) Follows(h Head) error {
	switch {
	case r.Chain != h.Chain || r.N != h.N+1:
		return fmt.Errorf("record %d follows record %d: records are missing", r.N, h.N)
	case sha256.Sum256(r.Content) != r.ContentHash:
		return fmt.Errorf("content does not match its SHA-256")
	case r.Prev != h.Hash:
		return fmt.Errorf("SHA-256 of the record before does not match")
	case r.sum() != r.Hash:
		return fmt.Errorf("the record does not match its own SHA-256")
	}
	return nil
}
