package web_test

import (
	"html"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/quantity"
	"boretight/internal/web"
)

func TestTheCatalogIsShownWithoutADesk(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake()})
	require.NoError(t, err)
	page := ask(t, site, "/catalog").Body.String()
	assert.Contains(t, page, `href="/catalog/oboe/upper"`)
	page = ask(t, site, "/catalog/oboe/upper").Body.String()
	assert.Contains(t, page, "starting value")
	assert.NotContains(t, page, "/change?", "nothing can be changed")
	assert.Equal(t, http.StatusNotFound, ask(t, site, "/catalog/kazoo").Code)
	assert.Equal(t, http.StatusNotFound, ask(t, site, "/catalog/oboe/slide").Code)
}

func TestAJointIsDrawnWithWords(t *testing.T) {
	site, _ := bookSite(t, &fakeBooks{}, quantity.Units{})
	page := ask(t, site, "/catalog/oboe/upper").Body.String()
	assert.Contains(t, page, `role="img"`)
	assert.Contains(t, page, "235 mm long, 4.8 mm wide there, 10.6 mm at the other end")
	assert.Contains(t, page, "G# at 197 mm, closed at rest")
	assert.NotContains(t, page, "style=")
	assert.NotContains(t, page, "<script")

	site, _ = bookSite(t, &fakeBooks{}, quantity.Units{Length: "thou"})
	page = ask(t, site, "/catalog/oboe/upper").Body.String()
	assert.Contains(t, page, "9252 thou long")
	assert.NotContains(t, page, "235 mm")
	assert.Contains(t, page, ">1890 thou<", "48 mm: no nought before the point is lost")
}

// gSharpAsItIs is the form of an oboe's G# seat with nothing changed.
func gSharpAsItIs() []string {
	return []string{"kind", "seat", "name", "G#", "at", "197 mm", "hole", "4.5 mm", "land", "0.8 mm",
		"pad", "8.5 mm", "pad-kind", "cork", "hinge", "5 mm", "stands", "closed", "key", "left little finger, G# key", "reach", "left hand",
		"moves", "press", "moves", "plug", "moves", "tape"}
}

func TestAValueOfASeatIsChanged(t *testing.T) {
	b := &fakeBooks{}
	site, _ := bookSite(t, b, quantity.Units{})
	page := ask(t, site, "/catalog/oboe/upper/change?kind=seat&name=G%23").Body.String()
	assert.Contains(t, page, `value="8.5 mm"`)

	told := gSharpAsItIs()
	told[slices.Index(told, "pad")+1] = "9,25"
	w := post(t, site, "/catalog/oboe/upper/change", told...)
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Contains(t, string(b.files["oboe"]), "9.25 mm")
	assert.NotContains(t, string(b.files["oboe"]), "197", "what was not changed keeps its source")

	page = ask(t, site, "/catalog/oboe/upper").Body.String()
	assert.Regexp(t, `9\.25 mm <span class="from">measured by the shop</span>`, page)
	assert.Contains(t, page, `<span class="value">pad measured by the shop, the others: starting value</span>`)
	page = ask(t, site, "/catalog/oboe").Body.String()
	assert.Contains(t, page, "seat G# of upper")

	page = ask(t, site, "/catalog/oboe/upper/change?kind=seat&name=G%23").Body.String()
	assert.Contains(t, page, `aria-label="Take back: Seat G#"`)
	assert.NotContains(t, ask(t, site, "/catalog/oboe/upper/change?kind=seat&name=A").Body.String(), "Take back", "the shop told nothing of it")
	w = post(t, site, "/catalog/oboe/back", "joint", "upper", "kind", "seat", "name", "G#", "from", "joint")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Equal(t, "/catalog/oboe/upper#seat-G%23", w.Header().Get("Location"))
	assert.Empty(t, b.files["oboe"], "taken back")
}

func TestARefusedChangeOfTheCatalogKeepsWhatWasTyped(t *testing.T) {
	tests := map[string]struct {
		field, value, says string
	}{
		"a pad smaller than its hole": {"pad", "3 mm", `seat "G#": pad = 3 mm: want more than the hole's 4.5 mm`},
		"no length":                   {"hinge", "<wide>", "hinge: "},
		"a position beyond the bore":  {"at", "3000", "the length of the bore"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			b := &fakeBooks{}
			site, _ := bookSite(t, b, quantity.Units{})
			told := gSharpAsItIs()
			told[slices.Index(told, test.field)+1] = test.value
			w := post(t, site, "/catalog/oboe/upper/change", told...)
			require.Equal(t, http.StatusUnprocessableEntity, w.Code)
			_, beside, ok := strings.Cut(w.Body.String(), `id="field-`+test.field+`"`)
			require.True(t, ok)
			beside, _, _ = strings.Cut(beside, `class="field`)
			assert.Contains(t, beside, `value="`+html.EscapeString(test.value)+`"`, "what was typed is kept")
			assert.Contains(t, strings.ToLower(html.UnescapeString(beside)), strings.ToLower(test.says), "beside its field, in the catalog's own words")
			assert.NotContains(t, w.Body.String(), "<wide>", "escaped")
			assert.Empty(t, b.files, "nothing was written")
		})
	}
}

func TestASeatIsAddedAndLeftOut(t *testing.T) {
	b := &fakeBooks{}
	site, _ := bookSite(t, b, quantity.Units{})
	seat := []string{"kind", "seat", "new", "yes", "at", "200", "hole", "2", "land", "0.8", "pad", "6", "pad-kind", "cork", "hinge", "5",
		"stands", "closed", "key", "left thumb", "reach", "left hand", "moves", "press"}
	w := post(t, site, "/catalog/oboe/upper/change", seat...)
	require.Equal(t, http.StatusUnprocessableEntity, w.Code, "it has no name")
	w = post(t, site, "/catalog/oboe/upper/change", append(seat, "name", "G#")...)
	require.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "The joint has one of that name already.")
	assert.Empty(t, b.files)

	w = post(t, site, "/catalog/oboe/upper/change", append(seat, "name", "vent <2>")...)
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	page := ask(t, site, "/catalog/oboe/upper").Body.String()
	assert.Contains(t, page, "vent &lt;2&gt;")
	assert.NotContains(t, page, "vent <2>")

	w = post(t, site, "/catalog/oboe/upper/without", "kind", "seat", "name", "vent <2>")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Empty(t, b.files["oboe"], "what only the shop had told is gone without a trace")
	w = post(t, site, "/catalog/oboe/upper/without", "kind", "seat", "name", "3rd octave")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Contains(t, string(b.files["oboe"]), "without")
	assert.NotContains(t, ask(t, site, "/catalog/oboe/upper").Body.String(), `id="seat-3rd-octave"`)
}

func TestAPieceOfBoreIsChanged(t *testing.T) {
	b := &fakeBooks{}
	site, _ := bookSite(t, b, quantity.Units{})
	w := post(t, site, "/catalog/oboe/upper/change", "kind", "bore", "1 length", "235 mm", "1 from", "4.9", "1 to", "10.6 mm")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Contains(t, string(b.files["oboe"]), "'4.9 mm'")
	assert.Contains(t, string(b.files["oboe"]), "[starting value]", "what was not changed keeps its source")

	w = post(t, site, "/catalog/oboe/upper/change", "kind", "bore", "1 length", "235 mm", "1 from", "0.2", "1 to", "10.6 mm")
	require.Equal(t, http.StatusUnprocessableEntity, w.Code)
	_, beside, _ := strings.Cut(w.Body.String(), `id="field-1-from"`)
	assert.Contains(t, beside, "want from 1 mm to 200 mm")
}

func TestANewInstrumentBeginsAsACopyOfAnother(t *testing.T) {
	b := &fakeBooks{}
	site, _ := bookSite(t, b, quantity.Units{})
	for name, says := range map[string]string{"": "short name", "flute": "already", "a/b": "letters, digits"} {
		w := post(t, site, "/catalog/oboe/like", "name", name, "title", "Oboe", "system", "old")
		require.Equal(t, http.StatusUnprocessableEntity, w.Code)
		assert.Contains(t, w.Body.String(), says)
	}
	assert.Empty(t, b.files)
	w := post(t, site, "/catalog/oboe/like", "name", "oboe-1950", "title", "Old oboe", "system", "simple")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Equal(t, "/catalog/oboe-1950", w.Header().Get("Location"))
	assert.Contains(t, ask(t, site, "/catalog/oboe-1950").Body.String(), "Old oboe")
}
