package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"boretight/internal/catalog"
	"boretight/internal/ledger"
)

// A shop may name joints and tickets as it likes, and a name that nobody knows may be
// mistyped: both go on, and the second is said.

// nearNames is how many names are offered in place of one that the catalog has not.
const nearNames = 3

// unheardJoint says that the catalog has no joint of a name; empty when it has, or none was
// told.
func unheardJoint(known catalog.Catalog, name string) string {
	if name == "" {
		return ""
	}
	if _, _, err := known.Joint(name); err == nil {
		return ""
	}
	return fmt.Sprintf("the catalog has no joint %s (nearest: %s): it counts under that name all the same",
		name, strings.Join(known.Near(name, nearNames), ", "))
}

// unheardTicket says that no ticket of a label is open; empty when one is, or none was told.
func unheardTicket(ctx context.Context, store ledger.Store, label string) (string, error) {
	if label == "" {
		return "", nil
	}
	t, err := store.Ticket(ctx, label)
	switch {
	case errors.Is(err, ledger.ErrNotFound):
		return fmt.Sprintf("no ticket %s is open in this ledger: the holds carry the label all the same", label), nil
	case err != nil:
		return "", err
	case !t.Open():
		return fmt.Sprintf("ticket %s is closed in this ledger: the holds carry the label all the same", label), nil
	}
	return "", nil
}

// noteUnheard says on a stream which names of joint and ticket nobody knows.
func noteUnheard(ctx context.Context, to io.Writer, store ledger.Store, joint, label string) error {
	ticket, err := unheardTicket(ctx, store, label)
	if err != nil {
		return err
	}
	known, err := catalogued{}.load()
	unheard := unheardJoint(known, joint)
	if err != nil { // a file that cannot be read stops no hold
		unheard = err.Error()
	}
	for _, note := range []string{unheard, ticket} {
		if note != "" {
			fmt.Fprintf(to, "boretight: note: %s\n", note)
		}
	}
	return nil
}
