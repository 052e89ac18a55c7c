package web_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/quantity"
)

func TestTheCautionsHaveReasonsAndSources(t *testing.T) {
	site, _ := bookSite(t, &fakeBooks{}, quantity.Units{})
	page := words(ask(t, site, "/cautions").Body.String())
	for _, want := range []string{
		"No mouth suction", "stay under 6 kPa", "Never shop air", "moves or creaks", "warmth and humidity", "solvents", "maker’s instructions",
		"does not decide", "common practice, no source", "Marshall and Levy (2011)",
	} {
		assert.Contains(t, page, want)
	}
}
