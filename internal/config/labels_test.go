package config_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/config"
)

func TestLabelsThatMakeSense(t *testing.T) {
	t.Parallel()
	l := config.Labels{
		Joint: "alto-sax/body", Section: "right hand", Closure: "G♯ pressed", When: "as-found", Ticket: "T-17",
	}
	require.NoError(t, l.Validate())
	assert.Equal(t, "alto-sax", l.Instrument())
	assert.Equal(t, "body", l.JointOf())
	assert.Equal(t, "as_found", l.Occasion())
	assert.NoError(t, config.Labels{}.Validate(), "nothing told")
	assert.Empty(t, config.Labels{}.JointOf())
	assert.NoError(t, config.Labels{Section: strings.Repeat("é", 40)}.Validate(), "letters are counted, not bytes")
}

func TestLabelsThatMakeNone(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		labels config.Labels
		want   string
	}{
		"a joint without its instrument":  {config.Labels{Joint: "upper"}, `joint = "upper": want INSTRUMENT/JOINT`},
		"an instrument without its joint": {config.Labels{Joint: "oboe/"}, `joint = "oboe/"`},
		"two slashes":                     {config.Labels{Joint: "oboe/upper/G"}, `joint = "oboe/upper/G"`},
		"a name that is too long":         {config.Labels{Joint: "oboe/" + strings.Repeat("x", 41)}, "1 to 40"},
		"a line break":                    {config.Labels{Closure: "all\nkeys"}, `closure = "all\nkeys"`},
		"an escape":                       {config.Labels{Section: "\x1b[31mred"}, "section = "},
		"writing turned round":            {config.Labels{Ticket: "T\u202e17"}, "ticket = "},
		"bytes that are no text":          {config.Labels{Ticket: "T\xff"}, "ticket = "},
		"blanks about a name":             {config.Labels{Ticket: " T-17"}, "ticket = "},
		"another time":                    {config.Labels{When: "later"}, `when = "later": want as_found or as_left`},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			assert.ErrorContains(t, c.labels.Validate(), c.want)
		})
	}
	err := config.Rig{Hose: "a\tb", Stoppers: "A", Valve: strings.Repeat("v", 41)}.Validate()
	assert.ErrorContains(t, err, "hose = ")
	assert.ErrorContains(t, err, "valve = ")
}

func TestLabelsComeFromTheFileWithFlagsOverThem(t *testing.T) {
	t.Parallel()
	c, err := config.Read(strings.NewReader("[labels]\njoint = \"oboe/upper\"\nclosure = \"all keys\"\nreplugged = true\n[rig]\nhose = \"clear 4 mm\"\nvalve = \"1\"\n"))
	require.NoError(t, err)
	l := config.Labels{Closure: "G pressed", When: "as_left"}.Over(c.Labels)
	assert.Equal(t, config.Labels{Joint: "oboe/upper", Closure: "G pressed", When: "as_left", Replugged: true}, l)
	assert.Equal(t, config.Rig{Hose: "black", Valve: "1"}, config.Rig{Hose: "black"}.Over(c.Rig))

	_, err = config.Read(strings.NewReader("[labels]\njoint = \"oboe\"\n[rig]\nhose = \" \"\n"))
	assert.ErrorContains(t, err, "joint = ")
	assert.ErrorContains(t, err, "hose = ")
}
