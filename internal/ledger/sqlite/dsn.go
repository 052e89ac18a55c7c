package sqlite

import (
	"database/sql"
	"net/url"
	"path/filepath"
	"strings"

	_ "modernc.org/sqlite" // the driver "sqlite"
)

const (
	// busyTimeout is how long a statement waits for another program's commit. It
	// bounds what one attempt of a writer takes, so that its trouble is soon known.
	busyTimeout = "busy_timeout(2000)"
	readers     = 4
	// readCache is what each reader keeps of the file, in KiB: the inner pages of the indices
	// of a million holds, so that a page of a list reads little but its own rows.
	readCache = "cache_size(-16384)"
)

// dsn returns the driver's name for a file, with pragmas for every connection.
func dsn(path string, query url.Values) string {
	p := filepath.ToSlash(path)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p // a Windows drive letter
	}
	u := url.URL{Scheme: "file", Path: p, RawQuery: query.Encode()}
	return u.String()
}

// openWrite returns a pool of one connection whose transactions take the write
// lock at once: a lock taken later fails without waiting.
func openWrite(path string) (*sql.DB, error) {
	db, err := sql.Open("sqlite", dsn(path, url.Values{
		"mode":    {"rwc"},
		"_txlock": {"immediate"},
		"_pragma": {
			busyTimeout, "synchronous(FULL)", "foreign_keys(1)",
			"secure_delete(1)", // an erased text leaves no bytes behind
		},
	}))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// openRead returns a pool that cannot write. unchanging reads the file alone and
// trusts that nobody writes to it.
func openRead(path string, unchanging bool) (*sql.DB, error) {
	q := url.Values{"mode": {"ro"}, "_pragma": {busyTimeout, readCache}}
	if unchanging {
		q.Set("immutable", "1")
	}
	db, err := sql.Open("sqlite", dsn(path, q))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(readers)
	return db, nil
}
