package main

import (
	"context"
	"log/slog"

	"boretight/internal/bench"
	"boretight/internal/ledger/copies"
)

// ledgerCmd holds what is done with a ledger's file as a whole.
type ledgerCmd struct {
	Copy    ledgerCopyCmd    `cmd:"" help:"Write a copy of the ledger into one file."`
	Replace ledgerReplaceCmd `cmd:"" help:"Put a copy in the ledger's place."`
}

// newKeeper returns what keeps the daily copies of a book; nil when no folder is told.
func newKeeper(ctx context.Context, folder string, b *book, log *slog.Logger) (*copies.Keeper, error) {
	if folder == "" {
		return nil, nil
	}
	line, err := b.store.Line(ctx)
	if err != nil {
		return nil, err
	}
	return copies.New(copies.Options{Source: b.store, Folder: folder, Line: line, Log: log})
}

// copiesState returns what a snapshot asks for; nil when no copies are made.
func copiesState(k *copies.Keeper) func() bench.CopiesState {
	if k == nil {
		return nil
	}
	return func() bench.CopiesState {
		s := k.State()
		return bench.CopiesState{
			Folder: s.Folder, Newest: s.Newest, Age: s.Age.Seconds(), Kept: s.Count, Problem: s.Problem,
		}
	}
}
