package catalog_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/catalog"
)

var gSharp = catalog.Thing{Joint: "upper", Kind: catalog.KindSeat, Name: "G#"}

func seatOf(t *testing.T, text []byte, instrument, joint, name string) (catalog.Seat, bool) {
	t.Helper()
	known, err := catalog.Templates()
	require.NoError(t, err)
	if len(text) > 0 {
		known, err = known.Edit("shop.toml", text)
		require.NoError(t, err, "%s", text)
	}
	_, j, err := known.Joint(instrument + "/" + joint)
	require.NoError(t, err)
	for _, s := range j.Seats {
		if s.Name == name {
			return s, true
		}
	}
	return catalog.Seat{}, false
}

func TestAChangedValueCountsAsMeasuredByTheShop(t *testing.T) {
	text, err := catalog.Amend(nil, "oboe", gSharp, map[string]string{"pad": "9.25 mm"}, "")
	require.NoError(t, err)
	s, ok := seatOf(t, text, "oboe", "upper", "G#")
	require.True(t, ok)
	assert.InDelta(t, 9.25e-3, float64(s.Pad.Value), 1e-9)
	assert.Equal(t, catalog.Shop, s.Pad.Source.Kind)
	assert.Equal(t, catalog.Starting, s.Hole.Source.Kind, "what was not told stays")
}

func TestAChangedValueMayBePublished(t *testing.T) {
	text, err := catalog.Amend(nil, "oboe", gSharp, map[string]string{"pad": "9.25 mm"}, "a maker's drawing of 1987")
	require.NoError(t, err)
	text, err = catalog.Amend(text, "oboe", gSharp, map[string]string{"hinge": "6 mm"}, "")
	require.NoError(t, err)
	s, _ := seatOf(t, text, "oboe", "upper", "G#")
	assert.Equal(t, "published: a maker's drawing of 1987", s.Pad.Source.String())
	assert.Equal(t, catalog.Shop, s.Hinge.Source.Kind)
}

func TestAmendmentsAreListedAndTakenBack(t *testing.T) {
	text, err := catalog.Amend([]byte("# ours since 1991\n"+`instrument = "oboe"`+"\n"), "oboe", gSharp, map[string]string{"pad": "9.25 mm"}, "")
	require.NoError(t, err)
	gone := catalog.Thing{Joint: "upper", Kind: catalog.KindWithout, Name: "3rd octave"}
	text, err = catalog.Amend(text, "oboe", gone, nil, "")
	require.NoError(t, err)
	assert.Contains(t, string(text), "# ours since 1991", "the file's head stays")

	all, err := catalog.Amendments(text)
	require.NoError(t, err)
	require.Len(t, all, 2)
	assert.Equal(t, catalog.Amendment{Thing: gSharp, Told: map[string]string{"pad": "9.25 mm"}}, all[0])
	assert.Equal(t, gone, all[1].Thing)
	_, ok := seatOf(t, text, "oboe", "upper", "3rd octave")
	assert.False(t, ok, "the shop's oboe lacks it")

	text, err = catalog.Withdraw(text, gone)
	require.NoError(t, err)
	_, ok = seatOf(t, text, "oboe", "upper", "3rd octave")
	assert.True(t, ok, "what was taken back is as it was")

	_, err = catalog.Withdraw(text, gone)
	require.ErrorContains(t, err, "tells nothing of it")

	text, err = catalog.Withdraw(text, gSharp)
	require.NoError(t, err)
	assert.Empty(t, text, "a file that tells nothing is none")
}

func TestWhatIsToldOfIsThereAgain(t *testing.T) {
	octave := catalog.Thing{Joint: "upper", Kind: catalog.KindSeat, Name: "3rd octave"}
	text, err := catalog.Amend(nil, "oboe", catalog.Thing{Joint: "upper", Kind: catalog.KindWithout, Name: octave.Name}, nil, "")
	require.NoError(t, err)
	text, err = catalog.Amend(text, "oboe", octave, map[string]string{"pad": "7.5 mm"}, "")
	require.NoError(t, err)
	s, ok := seatOf(t, text, "oboe", "upper", octave.Name)
	require.True(t, ok)
	assert.Equal(t, catalog.Shop, s.Pad.Source.Kind)
	assert.Equal(t, catalog.Starting, s.Hole.Source.Kind, "the rest is as it was")
	all, err := catalog.Amendments(text)
	require.NoError(t, err)
	assert.Len(t, all, 1)
}

func TestABoreIsToldWhole(t *testing.T) {
	bore := catalog.Thing{Joint: "upper", Kind: catalog.KindBore}
	text, err := catalog.Amend(nil, "oboe", bore, map[string]string{
		"1 length": "100 mm", "1 from": "4.8 mm [starting value]", "1 to": "7 mm",
		"2 length": "135 mm", "2 from": "7 mm", "2 to": "10.6 mm",
	}, "")
	require.NoError(t, err)
	known, err := catalog.Templates()
	require.NoError(t, err)
	known, err = known.Edit("shop.toml", text)
	require.NoError(t, err)
	_, j, err := known.Joint("oboe/upper")
	require.NoError(t, err)
	require.Len(t, j.Bore, 2)
	assert.Equal(t, catalog.Starting, j.Bore[0].From.Source.Kind)
	assert.Equal(t, catalog.Shop, j.Bore[0].To.Source.Kind)
}

func TestANewInstrumentBeginsAsACopy(t *testing.T) {
	text, err := catalog.Begin("oboe-old", "oboe", "Old oboe", "simple system")
	require.NoError(t, err)
	text, err = catalog.Amend(text, "oboe-old", gSharp, map[string]string{"pad": "9.25 mm"}, "")
	require.NoError(t, err)
	s, ok := seatOf(t, text, "oboe-old", "upper", "G#")
	require.True(t, ok)
	assert.InDelta(t, 9.25e-3, float64(s.Pad.Value), 1e-9)
	s, _ = seatOf(t, text, "oboe", "upper", "G#")
	assert.NotEqual(t, catalog.Shop, s.Pad.Source.Kind, "the other oboe stays as it was")
}

func TestAFaultTellsTheKeyThatItIsOf(t *testing.T) {
	text, err := catalog.Amend(nil, "oboe", gSharp, map[string]string{"pad": "3 mm"}, "")
	require.NoError(t, err)
	known, err := catalog.Templates()
	require.NoError(t, err)
	_, err = known.Edit("shop.toml", text)
	var fault *catalog.Fault
	require.ErrorAs(t, err, &fault)
	assert.Equal(t, "joint[0].seat[0].pad", fault.Path)
}

func TestAFileThatCannotBeReadIsLeftToHands(t *testing.T) {
	_, err := catalog.Amend([]byte(`instrument = `), "oboe", gSharp, nil, "")
	require.ErrorContains(t, err, "by hand")
	_, err = catalog.Amend([]byte(`instrument = "flute"`), "oboe", gSharp, nil, "")
	require.ErrorContains(t, err, `"flute"`)
}
