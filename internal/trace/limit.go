package trace

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
)

// openText drops a byte-order mark and refuses the two-byte text that spreadsheets
// also write.
func openText(r io.Reader) (io.Reader, error) {
	in := bufio.NewReader(r)
	start, err := in.Peek(3)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	switch {
	case bytes.HasPrefix(start, []byte("\xef\xbb\xbf")):
		_, err := in.Discard(len(start))
		return in, err
	case bytes.HasPrefix(start, []byte("\xff\xfe")), bytes.HasPrefix(start, []byte("\xfe\xff")):
		return nil, errors.New("file is UTF-16 text (save it as UTF-8)")
	}
	return in, nil
}

// recordLimiter passes bytes on until a record grows beyond maxRecord. Line ends
// between quotes do not end a record.
type recordLimiter struct {
	in     io.Reader
	length int
	line   int // complete lines so far
	quoted bool
}

// Read implements [io.Reader].
func (l *recordLimiter) Read(p []byte) (int, error) {
	n, err := l.in.Read(p)
	for _, b := range p[:n] {
		switch {
		case b == '\n' && !l.quoted:
			l.length = 0
		case b == '"':
			l.quoted = !l.quoted
		}
		if b == '\n' {
			l.line++
		}
		if l.length++; l.length > maxRecord {
			return 0, fmt.Errorf("line %d: more than %d bytes in a record: %w", l.line+1, maxRecord, ErrTooLong)
		}
	}
	return n, err
}
