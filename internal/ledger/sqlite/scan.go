package sqlite

import (
	"fmt"
	"time"

	"boretight/internal/ledger"
)

// digestScanner reads a digest from a column of bytes.
type digestScanner struct{ to *ledger.Digest }

func scan(d *ledger.Digest) digestScanner { return digestScanner{d} }

// Scan implements sql.Scanner. A digest of another length is damage, and is read as
// zero so that an audit finds it in its place.
func (s digestScanner) Scan(v any) error {
	b, ok := v.([]byte)
	if !ok {
		return fmt.Errorf("digest is a %T, want bytes", v)
	}
	*s.to = ledger.Digest{}
	if len(b) == len(s.to) {
		copy(s.to[:], b)
	}
	return nil
}

// micro is the time of a column of µs.
func micro(us int64) time.Time { return time.UnixMicro(us).UTC() }
