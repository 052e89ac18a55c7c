package catalog_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/catalog"
)

func edit(t *testing.T, text string) catalog.Catalog {
	t.Helper()
	c, err := templates(t).Edit("shop.toml", []byte(text))
	require.NoError(t, err)
	return c
}

func seat(t *testing.T, j catalog.Joint, name string) catalog.Seat {
	t.Helper()
	k := slices.IndexFunc(j.Seats, func(s catalog.Seat) bool { return s.Name == name })
	require.GreaterOrEqual(t, k, 0, "seat %q", name)
	return j.Seats[k]
}

func TestAnEditChangesWhatItTellsAndKeepsTheRest(t *testing.T) {
	t.Parallel()
	before := templates(t)
	after, err := before.Edit("shop.toml", []byte(`
instrument = "oboe"
[sources]
drawing = "drawing of the museum, sheet 3"
[[joint]]
name = "upper"
without = ["3rd octave"]
[[joint.seat]]
name = "G#"
at = "7.5 in"
pad = "9.5 mm [drawing]"
land = "0.7 mm [starting value]"
`))
	require.NoError(t, err)
	j := joint(t, after, "oboe/upper")
	gis := seat(t, j, "G#")
	assert.InDelta(t, 190.5e-3, float64(gis.At.Value), 1e-12)
	assert.Equal(t, "measured by the shop", gis.At.Source.String())
	assert.Equal(t, "published: drawing of the museum, sheet 3", gis.Pad.Source.String())
	assert.Equal(t, "starting value", gis.Land.Source.String())
	assert.InDelta(t, 4.5e-3, float64(gis.Hole.Value), 1e-12)
	assert.Equal(t, catalog.Starting, gis.Hole.Source.Kind)
	assert.Len(t, j.Seats, 10)
	old := joint(t, before, "oboe/upper")
	assert.Len(t, old.Seats, 11, "the catalogue before the edit stays")
	assert.InDelta(t, 197e-3, float64(seat(t, old, "G#").At.Value), 1e-12)
}

func TestANewSeatTakesItsPlaceAndTheUsualValues(t *testing.T) {
	t.Parallel()
	j := joint(t, edit(t, `
instrument = "oboe"
[[joint]]
name = "upper"
usual = { land = "0.6 mm", pad-kind = "cork", hinge = "5 mm", can = ["press"], reach = "left hand" }
seat = [{ name = "A vent", at = "158 mm", hole = "2 mm", pad = "5.5 mm", stands = "closed", key = "left 2" }]
`), "oboe/upper")
	k := slices.IndexFunc(j.Seats, func(s catalog.Seat) bool { return s.Name == "A vent" })
	assert.Equal(t, "A", j.Seats[k-1].Name)
	assert.Equal(t, "Bb", j.Seats[k+1].Name)
	assert.InDelta(t, 0.6e-3, float64(j.Seats[k].Land.Value), 1e-12)
	assert.Equal(t, catalog.Shop, j.Seats[k].Can.Source.Kind)
	assert.InDelta(t, 0.8e-3, float64(seat(t, j, "A").Land.Value), 1e-12, "usual is for new seats only")
}

func TestAMeasuredBoreTakesTheTemplatesPlace(t *testing.T) {
	t.Parallel()
	j := joint(t, edit(t, `
instrument = "clarinet"
[[joint]]
name = "upper"
bore = [{ length = "228 mm", from = "15.24 mm", to = "14.91 mm" }]
`), "clarinet/upper")
	v, err := j.Volume()
	require.NoError(t, err)
	assert.InDelta(t, 40.7, v.Value*1e6, 0.05, "large bore, computed from a repairer's measures, mailing list 1998")
	require.Len(t, j.Bore, 1)
	assert.Equal(t, catalog.Shop, j.Bore[0].From.Source.Kind)
}

func TestAnInstrumentMayBeginLikeAnother(t *testing.T) {
	t.Parallel()
	c := edit(t, "instrument = \"oboe-d-amore\"\nlike = \"english-horn\"\ntitle = \"Oboe d'amore\"\n")
	i, err := c.Instrument("oboe-d-amore")
	require.NoError(t, err)
	assert.Equal(t, "Oboe d'amore", i.Title.Value)
	assert.Equal(t, catalog.Starting, i.System.Source.Kind)
	assert.Len(t, joint(t, c, "oboe-d-amore/upper").Seats, 10)
	assert.Len(t, c.Instruments(), 7)
}

func TestAnEditIsRefused(t *testing.T) {
	t.Parallel()
	const head = "instrument = \"oboe\"\n[[joint]]\nname = \"upper\"\n"
	for name, c := range map[string]struct{ text, want string }{
		"with a key that nobody knows": {
			head + "[[joint.seat]]\nname = \"G#\"\ncolour = \"black\"\n",
			`shop.toml: line 6: unknown key "joint.seat.colour": want one of name, at, hole, land, pad, pad-kind, hinge, key, stands, can, reach`,
		},
		"with an unknown key at its head": {
			"instrument = \"oboe\"\nmaker = \"x\"\n",
			`shop.toml: line 2: unknown key "maker": want one of instrument, like, title, system, sources, notes, joint`,
		},
		"with a unit that is no length's": {
			head + "seat = [\n  { name = \"G#\", at = \"197 ml\" },\n]\n",
			`shop.toml: line 5: at: parse length "197 ml": unit "ml" is not known (use one of m, cm, mm`,
		},
		"with a length without its unit": {
			head + "seat = [{ name = \"G#\", at = 197 }]\n",
			`shop.toml: line 4: at: parse length "197": no unit (write for example 9mm or 0.354in)`,
		},
		"with a seat beyond the bore": {
			head + "seat = [\n  { name = \"G\", pad = \"9 mm\" },\n  { name = \"G#\",\n at = \"260 mm\" },\n]\n",
			`shop.toml: line 7: seat "G#": at = 260 mm: want from 0 mm to 235 mm, the length of the bore`,
		},
		"with two seats of one name": {
			head + "[[joint.seat]]\nname = \"G#\"\nat = \"197 mm\"\n\n[[joint.seat]]\nname = \"G#\"\nat = \"198 mm\"\n",
			`shop.toml: line 8: two of the name: seat "G#" stands in line 4 already; want each name once`,
		},
		"with a new seat that is half told": {
			head + "[[joint.seat]]\nname = \"X\"\nat = \"100 mm\"\n",
			`shop.toml: line 4: seat "X": stands is not told: want one of open, closed`,
		},
		"with a pad smaller than its hole": {
			head + "seat = [{ name = \"G#\", pad = \"4 mm\" }]\n",
			`line 4: seat "G#": pad = 4 mm: want more than the hole's 4.5 mm`,
		},
		"with a hole wider than the bore": {
			head + "seat = [{ name = \"3rd octave\", hole = \"6 mm\", pad = \"9 mm\" }]\n",
			`line 4: seat "3rd octave": hole = 6 mm: want from 0.1 mm to 5.54043 mm, the width of the bore there`,
		},
		"with a bore that leaves seats outside": {
			head + "bore = [{ length = \"190 mm\", from = \"4.8 mm\", to = \"10 mm\" }]\n",
			`line 2: seat "G#": at = 197 mm: want from 0 mm to 190 mm, the length of the bore`,
		},
		"with a key that stands neither way": {
			head + "seat = [{ name = \"G#\", stands = \"ajar\" }]\n",
			`line 4: seat "G#": stands = "ajar": want one of open, closed`,
		},
		"with a pad of an unknown kind": {
			head + "seat = [{ name = \"G#\", pad-kind = \"rubber\" }]\n",
			`line 4: seat "G#": pad-kind = "rubber": want one of bladder, cork, leather, synthetic`,
		},
		"with a move that nobody can make": {
			head + "seat = [{ name = \"G#\", can = [\"push\"] }]\n",
			`line 4: seat "G#": can = "push": want some of press, plug, tape`,
		},
		"with a bracket that names nothing": {
			head + "seat = [{ name = \"G#\", key = \"left 4 []\" }]\n",
			`line 4: key: "left 4 []": want a source in brackets at the end, such as [shop]`,
		},
		"with a text that says nothing": {
			head + "seat = [{ name = \"G#\", key = \" [shop]\" }]\n",
			`line 4: key: " [shop]" says nothing: leave the key out instead`,
		},
		"with a source that is not told": {
			head + "seat = [{ name = \"G#\", at = \"197 mm [book]\" }]\n",
			`line 4: no source "book": want one of starting value, shop, or a line book = "…" under [sources]`,
		},
		"without what is not there": {
			head + "without = [\"F\"]\n",
			`line 4: without "F": joint "upper" has none of that name; want one of 3rd octave, 2nd octave`,
		},
		"with a section that ends before it begins": {
			head + "section = [{ name = \"left hand\", to = \"90 mm\" }]\n",
			`line 4: section "left hand": to = 90 mm: want more than from, 114 mm`,
		},
		"like an instrument that is not there": {
			"instrument = \"x\"\nlike = \"y\"\n",
			`line 2: like = "y": no instrument "y" in the catalog: want one of alto-sax`,
		},
		"like another under a name that is taken": {
			"instrument = \"oboe\"\nlike = \"flute\"\n",
			`line 2: like = "flute": there is an instrument "oboe" already`,
		},
		"without an instrument": {"title = \"x\"\n", `line 1: no instrument: want instrument = "oboe"`},
		"with a name that labels cannot have": {
			"instrument = \"oboe/x\"\ntitle = \"x\"\nsystem = \"x\"\n",
			`line 1: instrument "oboe/x": want a name without /`,
		},
		"with a joint without a bore": {
			"instrument = \"oboe\"\n[[joint]]\nname = \"third\"\n",
			`line 2: joint "third" has no bore`,
		},
		"with a joint told twice": {head + "[[joint]]\nname = \"upper\"\n", `line 4: two joints "upper"`},
		"that is no TOML":         {"instrument = oboe\n", "shop.toml: line 1: "},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := templates(t).Edit("shop.toml", []byte(c.text))
			require.ErrorContains(t, err, c.want)
		})
	}
}

func TestAllFaultsOfAFileAreReportedInTheOrderOfTheirLines(t *testing.T) {
	t.Parallel()
	_, err := templates(t).Edit("shop.toml", []byte(`instrument = "oboe"
[[joint]]
name = "upper"
seat = [
  { name = "G#", at = "260 mm", stands = "ajar" },
  { name = "C", pad = "1 mm" },
]
section = [{ name = "trills", from = "300 mm" }]
`))
	require.Error(t, err)
	lines := strings.Split(err.Error(), "\n")
	require.Len(t, lines, 5)
	assert.True(t, slices.IsSorted(lines), "%v", lines)
	fault, ok := errors.AsType[*catalog.Fault](err)
	require.True(t, ok)
	assert.Equal(t, 5, fault.Line)
	assert.Equal(t, "shop.toml", fault.File)
}

func FuzzAnEditIsReadOrRefused(f *testing.F) {
	f.Add("instrument = \"oboe\"\n[[joint]]\nname = \"upper\"\nseat = [{ name = \"G#\", at = \"197 mm [shop]\" }]\n")
	f.Add("instrument = \"x\"\nlike = \"flute\"\n[sources]\na.b = \"c\"\n")
	base, err := catalog.Templates()
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, text string) {
		c, err := base.Edit("fuzz.toml", []byte(text))
		if err != nil {
			_, placed := errors.AsType[*catalog.Fault](err)
			require.True(t, placed, "%v", err)
			return
		}
		for _, i := range c.Instruments() {
			for _, j := range i.Joints {
				_, err := catalog.NewSheet(i, j)
				require.NoError(t, err)
			}
		}
	})
}
