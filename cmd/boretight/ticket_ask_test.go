package main

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestANewTicketIsAskedForFieldByField(t *testing.T) {
	typed := "\nobo\noboe\n 2214 \nHallwell\n\nAda Fenwick\n555-0101\nlow notes\n"
	c := ticketNewCmd{Condition: "told by a flag"}
	var said bytes.Buffer
	require.NoError(t, c.ask(t.Context(), readLines(t.Context(), strings.NewReader(typed)), &said))
	assert.Equal(t, ticketNewCmd{
		Instrument: "oboe", Serial: "2214", Maker: "Hallwell", Customer: "Ada Fenwick", Contact: "555-0101",
		Complaint: "low notes", Condition: "told by a flag",
	}, c)
	assert.Equal(t, 3, strings.Count(said.String(), "kind of instrument (alto-sax, "), "again until it is one")
	assert.Contains(t, said.String(), `no instrument "obo"`)
	assert.NotContains(t, said.String(), "condition")
}

func TestNoTicketOfHalfAnAnswer(t *testing.T) {
	c := ticketNewCmd{}
	err := c.ask(t.Context(), readLines(t.Context(), strings.NewReader("oboe\n2214\n")), &bytes.Buffer{})
	assert.ErrorContains(t, err, "the input ended before all was asked; nothing was recorded")

	ctx, stop := context.WithCancel(t.Context())
	stop()
	err = (&ticketNewCmd{}).ask(ctx, make(chan string), &bytes.Buffer{})
	assert.ErrorIs(t, err, context.Canceled)
}
