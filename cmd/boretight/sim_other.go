//go:build !unix

package main

import (
	"context"
	"errors"
	"io"
)

// carry needs pseudo-terminals, which this system does not have.
func carry(_ context.Context, _ app, device io.ReadWriteCloser, _ string) error {
	return errors.Join(&hintedError{
		err:  errors.New("this system has no pseudo-terminals"),
		hint: "use --gauge sim:NAME, which needs no port",
	}, device.Close())
}
