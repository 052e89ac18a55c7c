package main

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestAnErrorIsSaidAsASentence(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"": "", "the port is in use": "The port is in use.", "The port is in use.": "The port is in use.", "é is no unit": "É is no unit.",
	} {
		assert.Equal(t, want, said(errors.New(text)))
	}
}
