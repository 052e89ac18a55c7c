package web

import (
	"errors"
	"io"
	"net/http"
	"time"
)

const (
	// maxBody bounds what a request may send: a form of ours holds some kilobytes.
	maxBody = 1 << 20
	// bodyTimeout is how long a body may take to come in.
	bodyTimeout = 10 * time.Second
)

// limitBody bounds the size of a body and the time that it may take, so that nobody who
// sends slowly, or nothing of what was announced, can hold a connection.
func limitBody(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Body != nil && r.Body != http.NoBody {
			control := http.NewResponseController(w)
			// A connection without deadlines is one of a test.
			_ = control.SetReadDeadline(time.Now().Add(bodyTimeout))
			r.Body = &timedBody{ReadCloser: http.MaxBytesReader(w, r.Body, maxBody), control: control}
		}
		next.ServeHTTP(w, r)
	})
}

// timedBody lifts the deadline when all is there: the server goes on reading, to notice
// when the other side goes away, and would take its end for that.
type timedBody struct {
	io.ReadCloser
	control *http.ResponseController
}

// Read implements [io.Reader].
func (b *timedBody) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	if errors.Is(err, io.EOF) {
		_ = b.control.SetReadDeadline(time.Time{})
	}
	return n, err
}
