package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
)

// ask asks for what a ticket needs, field by field; an empty line leaves a field as it is.
func (c *ticketNewCmd) ask(ctx context.Context, lines <-chan string, to io.Writer) error {
	known, err := catalogued{}.load()
	if err != nil {
		return err
	}
	var kinds []string
	for _, i := range known.Instruments() {
		kinds = append(kinds, i.Name)
	}
	for c.Instrument == "" {
		line, err := answered(ctx, lines, to, "kind of instrument ("+strings.Join(kinds, ", ")+")")
		if err != nil {
			return err
		}
		if line == "" {
			continue
		}
		of, err := known.Instrument(line)
		if err != nil {
			fmt.Fprintf(to, "  %v\n", err)
			continue
		}
		c.Instrument = of.Name
	}
	for _, field := range []struct {
		name string
		told *string
	}{
		{"serial number", &c.Serial}, {"maker", &c.Maker}, {"model", &c.Model},
		{"customer", &c.Customer}, {"telephone or mail", &c.Contact},
		{"complaint, as told", &c.Complaint}, {"condition, as seen", &c.Condition},
	} {
		if *field.told != "" {
			continue
		}
		if *field.told, err = answered(ctx, lines, to, field.name); err != nil {
			return err
		}
	}
	return nil
}

// answered asks for one line.
func answered(ctx context.Context, lines <-chan string, to io.Writer, what string) (string, error) {
	fmt.Fprintf(to, "%s: ", what)
	select {
	case line, more := <-lines:
		if !more {
			return "", errors.New("open a ticket: the input ended before all was asked; nothing was recorded")
		}
		return strings.TrimSpace(line), nil
	case <-ctx.Done():
		return "", fmt.Errorf("open a ticket: %w; nothing was recorded", ctx.Err())
	}
}
