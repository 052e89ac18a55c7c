//go:build unix

package main

import (
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLinesAreAsWideAsTheTerminal(t *testing.T) {
	t.Parallel()
	controller, terminal, err := pty.Open()
	require.NoError(t, err)
	defer controller.Close()
	defer terminal.Close()
	for columns, want := range map[uint16]int{132: 132, 60: 60, 12: narrowest, 0: plainWidth} {
		require.NoError(t, pty.Setsize(terminal, &pty.Winsize{Rows: 24, Cols: columns}))
		assert.Equal(t, want, screenWidth(terminal), "a terminal of %d columns", columns)
	}
	assert.Equal(t, plainWidth, screenWidth(&strings.Builder{}), "what is no terminal")
}

func TestALineBreaksBetweenWordsAlone(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "note: one\n      two\n      three\n", wrappedTo(10, "note: ", "one two three"))
	assert.Equal(t, "note: one two three\n", wrappedTo(19, "note: ", "one two three"))
}
