package web_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/quantity"
	"boretight/internal/web"
)

// shopSettings are those of a shop that has set up nearly all.
func shopSettings() web.Settings {
	return web.Settings{
		Values: map[string]string{
			"shop.name": "Reed & Bore <Repairs>", "shop.pressure-unit": "kPa", "shop.flow-unit": "sccm", "shop.length-unit": "mm",
			"shop.holds": "3", "measure.ambient": "98.3 kPa", "rig.hose": "clear 4 mm",
		},
		Over: map[string]string{"measure.ambient": "--ambient"},
		File: "/home/shop/boretight.toml",
	}
}

func TestTheSetupSaysWhatIsSetAndWhere(t *testing.T) {
	b := &fakeBooks{settings: shopSettings()}
	site, _ := bookSite(t, b, quantity.Units{})
	page := ask(t, site, "/setup").Body.String()
	for _, want := range []string{
		"/home/shop/boretight.toml", `value="Reed &amp; Bore &lt;Repairs&gt;"`, `value="98.3 kPa"`, "ambient: by <code>--ambient</code>",
		"heard: HX-0417", `href="/#keys"`, "--listen 0.0.0.0:8417",
	} {
		assert.Contains(t, page, want)
	}
	assert.NotContains(t, page, "<Repairs>")
	assert.NotContains(t, page, `class="qr"`, "only this machine reaches it")

	b.settings.File = ""
	assert.Contains(t, ask(t, site, "/setup").Body.String(), "in memory until the program ends")
}

func TestOnlyWhatWasChangedIsKept(t *testing.T) {
	b := &fakeBooks{settings: shopSettings()}
	site, _ := bookSite(t, b, quantity.Units{})
	w := post(t, site, "/setup/change", "part", "room", "measure.ambient", "97,9", "measure.temperature", "21.5")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Equal(t, map[string]string{"measure.ambient": "97.9 kPa", "measure.temperature": "21.5 °C"}, b.changed)

	b.changed = nil
	w = post(t, site, "/setup/change", "part", "rig", "rig.hose", "clear 4 mm", "rig.stoppers", "", "rig.valve", "")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Nil(t, b.changed, "the bench does not begin anew for nothing")

	w = post(t, site, "/setup/change", "part", "token", "token", "mine")
	require.Equal(t, http.StatusUnprocessableEntity, w.Code, "keys that are not asked for are not taken")
	assert.Nil(t, b.changed)
}

func TestARefusedSettingKeepsWhatWasTyped(t *testing.T) {
	b := &fakeBooks{settings: shopSettings(), refusal: &web.Fault{Field: "shop.holds", Says: "Want from 1 to 30 for a trial."}}
	site, _ := bookSite(t, b, quantity.Units{})
	w := post(t, site, "/setup/change", "part", "units", "shop.pressure-unit", "mbar", "shop.flow-unit", "sccm", "shop.length-unit", "mm", "shop.holds", "99")
	require.Equal(t, http.StatusUnprocessableEntity, w.Code)
	_, beside, ok := strings.Cut(w.Body.String(), `id="field-shop.holds"`)
	require.True(t, ok)
	beside, _, _ = strings.Cut(beside, `</div>`)
	assert.Contains(t, beside, `value="99"`)
	assert.Contains(t, beside, "Want from 1 to 30 for a trial.")
	assert.Contains(t, w.Body.String(), `<option value="mbar" selected>`)
	assert.Contains(t, w.Body.String(), `value="98.3 kPa"`, "the other parts are as they are set")
	assert.Nil(t, b.changed)
}

func TestNothingIsChangedInTheMiddleOfAHold(t *testing.T) {
	b := &fakeBooks{settings: shopSettings(), search: web.Search{Began: time.Now(), Found: []web.FoundPort{{Port: "COM5", Address: "serial:COM5"}}}}
	site, bench := bookSite(t, b, quantity.Units{})
	phaseOf(bench, "holding")
	for path, pairs := range map[string][]string{
		"/setup/change": {"part", "rig", "rig.hose", "new"},
		"/setup/use":    {"name", "upper", "address", "serial:COM5"},
		"/setup/drop":   {"name", "left"},
	} {
		w := post(t, site, path, pairs...)
		assert.Equal(t, http.StatusUnprocessableEntity, w.Code, path)
		assert.Contains(t, w.Body.String(), "vent first", path)
	}
	assert.Nil(t, b.changed)
	assert.Empty(t, b.used)
	assert.Empty(t, b.dropped)
}

func TestAGaugeIsFoundAndUsed(t *testing.T) {
	b := &fakeBooks{settings: shopSettings()}
	site, _ := bookSite(t, b, quantity.Units{})
	w := ask(t, site, "/setup/find")
	assert.Empty(t, w.Header().Get("Refresh"))
	w = post(t, site, "/setup/find")
	require.Equal(t, http.StatusSeeOther, w.Code)
	assert.Equal(t, 1, b.searched)

	b.search = web.Search{Going: true, Began: time.Now(), Found: []web.FoundPort{
		{Port: "COM4", Heard: "Nothing was heard."}, {Port: "COM5", Heard: "A gauge", Serial: "HX-<9>", Address: "serial:COM5"},
	}}
	w = ask(t, site, "/setup/find")
	assert.Equal(t, "2; url=/setup/find", w.Header().Get("Refresh"), "without script the page asks again by itself")
	assert.Contains(t, w.Body.String(), "HX-&lt;9&gt;")
	assert.Contains(t, w.Body.String(), "Nothing was heard.")

	w = post(t, site, "/setup/use", "name", "", "address", "serial:COM5")
	require.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "Give it a name")
	w = post(t, site, "/setup/use", "name", "upper", "address", "serial:COM9")
	require.Equal(t, http.StatusUnprocessableEntity, w.Code, "only what was found is used")
	assert.Empty(t, b.used)

	w = post(t, site, "/setup/use", "name", "upper", "address", "serial:COM5")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Equal(t, [2]string{"upper", "serial:COM5"}, b.used)
	b.used, b.search.Going = [2]string{}, false
	w = post(t, site, "/setup/use", "typedname", "old", "typed", "replay:/etc/hostname")
	require.Equal(t, http.StatusUnprocessableEntity, w.Code, "no files of the machine")
	assert.Contains(t, w.Body.String(), "Say where the gauge is")
	assert.Empty(t, b.used)
	w = post(t, site, "/setup/use", "typedname", "old", "typed", "serial:COM9?baud=9600&dialect=text&unit=kPa")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Equal(t, [2]string{"old", "serial:COM9?baud=9600&dialect=text&unit=kPa"}, b.used)
	w = post(t, site, "/setup/drop", "name", "left")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Equal(t, "left", b.dropped)
}

func TestWhoFindsNoGaugeLearnsWhatToDo(t *testing.T) {
	b := &fakeBooks{settings: shopSettings(), search: web.Search{Began: time.Now(), Found: []web.FoundPort{{Port: "COM4", Heard: "Nothing was heard."}}}}
	site, _ := bookSite(t, b, quantity.Units{})
	page := ask(t, site, "/setup/find").Body.String()
	assert.Contains(t, page, "No gauge was heard")
	assert.Contains(t, page, `href="/setup/build"`)
	page = ask(t, site, "/setup/build").Body.String()
	assert.Contains(t, page, "dead end")
	assert.Contains(t, page, "7.50 kPa")
}

func TestATabletFindsItsWay(t *testing.T) {
	b := &fakeBooks{settings: shopSettings()}
	b.settings.Reach = web.Reach{Addresses: []string{"https://192.0.2.7:8417/?token=long-enough-word"}, Fingerprint: "AB:CD", Own: true}
	site, _ := bookSite(t, b, quantity.Units{})
	page := ask(t, site, "/setup").Body.String()
	assert.Contains(t, page, `class="qr"`)
	assert.Contains(t, page, "AB:CD")
	assert.Contains(t, page, "Nobody vouches")
}

func TestWithoutADeskTheSetupIsOnlyLookedAt(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake()})
	require.NoError(t, err)
	page := ask(t, site, "/setup").Body.String()
	assert.Contains(t, page, "look only")
	assert.NotContains(t, page, "<form")
	assert.Equal(t, http.StatusNotImplemented, post(t, site, "/setup/change", "part", "rig").Code)
}
