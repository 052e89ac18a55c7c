package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
	"boretight/internal/web"
)

func TestHoldsAreListedByThePage(t *testing.T) {
	records := &fakeRecords{holds: measuredHolds(t, 120)}
	site := siteOf(t, records, nil)
	first := ask(t, site, "/holds?words=clarinet+T-1001&verdict=pass&when=as_found")
	require.Equal(t, http.StatusOK, first.Code)
	assert.Equal(t, web.Sought{Words: "clarinet T-1001", Verdict: "pass", When: "as_found", Limit: 26}, records.asked)
	page := first.Body.String()
	assert.Equal(t, 25, strings.Count(page, `<td><a href="/holds/h`))
	assert.Contains(t, page, `href="/holds?before=h096&amp;verdict=pass&amp;when=as_found&amp;words=clarinet&#43;T-1001" rel="next"`, "the filters go along")
	assert.NotContains(t, page, ">Newest<", "this is the newest")
	assert.Contains(t, page, `<option value="pass" selected>`)
	assert.Contains(t, page, `value="clarinet T-1001"`)
	assert.Equal(t, 1, strings.Count(page, "Rule: pass when"), "the rule, once")

	last := ask(t, site, "/holds?before=h021")
	assert.Equal(t, 20, strings.Count(last.Body.String(), `<td><a href="/holds/h`))
	assert.NotContains(t, last.Body.String(), `rel="next"`)
	assert.Contains(t, last.Body.String(), ">Newest<")
}

func TestEveryHoldListedHasItsGrounds(t *testing.T) {
	site := siteOf(t, &fakeRecords{holds: measuredHolds(t, 1)}, nil)
	text := words(ask(t, site, "/holds").Body.String())
	assert.Contains(t, text, "clarinet, upper all keys closed as found T-1001 pass 2.160 ± 0.044 sccm 95 %: 2.117 to 2.203 sccm 2.5 sccm at 2.50 kPa, suction P(within) > 0.999")
}

func TestAFilterThatIsNoneAsksForNothing(t *testing.T) {
	records := &fakeRecords{}
	text := words(ask(t, siteOf(t, records, nil), "/holds?verdict=splendid&when=never").Body.String())
	assert.Equal(t, web.Sought{Limit: 26}, records.asked)
	assert.Contains(t, text, "No holds yet.")
	assert.Contains(t, words(ask(t, siteOf(t, records, nil), "/holds?words=bassoon").Body.String()), "No hold is like that.")
}

func TestAVoidedHoldIsListedWithItsReason(t *testing.T) {
	holds := measuredHolds(t, 1)
	holds[0].Voided = "key moved"
	page := ask(t, siteOf(t, &fakeRecords{holds: holds}, nil), "/holds").Body.String()
	assert.Contains(t, page, `<tr class="voided">`)
	assert.Contains(t, words(page), "set aside key moved was: pass")
}

func TestTextOfPeopleIsEscaped(t *testing.T) {
	holds := measuredHolds(t, 1)
	const nasty = `<img src=x onerror="alert(1)">`
	h := &holds[0]
	h.On.Closure, h.On.Section, h.On.Ticket, h.Voided = nasty, nasty, nasty, nasty
	h.Notes = []string{nasty}
	h.Aside = &web.Aside{Reason: nasty}
	site := siteOf(t, &fakeRecords{holds: holds}, &fakeVoider{})
	for _, path := range []string{"/holds?words=" + url.QueryEscape(nasty), "/holds/h001"} {
		page := ask(t, site, path).Body.String()
		assert.NotContains(t, page, "<img", path)
		assert.Contains(t, page, "&lt;img", path)
	}
}

func TestTheReadingsOfAHoldAreAFile(t *testing.T) {
	site := siteOf(t, &fakeRecords{holds: measuredHolds(t, 1)}, nil)
	w := ask(t, site, "/holds/h001/trace.csv")
	assert.Equal(t, "t_s,pressure_pa\r\n0,1\r\n", w.Body.String())
	assert.Equal(t, `attachment; filename="hold-h001.csv"`, w.Header().Get("Content-Disposition"))
	assert.Equal(t, http.StatusNotFound, ask(t, site, "/holds/none/trace.csv").Code)
}

func TestPagesOfRecordsTakeNothingFromElsewhere(t *testing.T) {
	records := &fakeRecords{holds: measuredHolds(t, 2), trials: []web.WholeTrial{
		measuredTrial(t, "found", "as_found", 7, trial.Fail), measuredTrial(t, "left", "as_left", 1.2, trial.Pass)}, slip: shopSlip(t, 2)}
	site := siteOf(t, records, &fakeVoider{})
	for _, path := range []string{"/holds", "/holds/h001", "/trials", "/trials/left", "/compare?found=found&left=left", "/print/slip/T-1001", "/print/label/T-1001"} {
		w := ask(t, site, path)
		require.Equal(t, http.StatusOK, w.Code, path)
		for _, mark := range []string{"<script", " style=", "http:", "https:", "NaN"} {
			assert.NotContains(t, w.Body.String(), mark, path)
		}
		assert.Equal(t, 1, strings.Count(w.Body.String(), "<h1"), path)
	}
}

// send sends a form as the browser of the same machine would.
func send(t *testing.T, site http.Handler, path string, form url.Values, accept string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Host = "localhost:8417"
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.Header.Set("Accept", accept)
	w := httptest.NewRecorder()
	site.ServeHTTP(w, r)
	return w
}

func TestAHoldIsSetAside(t *testing.T) {
	for name, tt := range map[string]struct {
		form url.Values
		want string
	}{
		"for a usual reason":      {url.Values{"reason": {"bumped"}}, "bumped"},
		"with more to say":        {url.Values{"reason": {"key moved"}, "words": {" the  G#\nkey "}}, "key moved: the G# key"},
		"for any other, in words": {url.Values{"reason": {"other"}, "words": {"the dog barked"}}, "the dog barked"},
	} {
		t.Run(name, func(t *testing.T) {
			desk := &fakeVoider{}
			w := send(t, siteOf(t, &fakeRecords{holds: measuredHolds(t, 1)}, desk), "/holds/h001/void", tt.form, "text/html")
			assert.Equal(t, http.StatusSeeOther, w.Code)
			assert.Equal(t, "/holds/h001", w.Header().Get("Location"))
			assert.Equal(t, "h001", desk.hold)
			assert.Equal(t, tt.want, desk.reason)
		})
	}
}

func TestAHoldIsNotSetAsideWithoutAReason(t *testing.T) {
	for name, tt := range map[string]struct {
		form url.Values
		want string
	}{
		"none chosen":        {url.Values{"words": {"kept words"}}, "Choose what went wrong"},
		"one that is none":   {url.Values{"reason": {"because"}}, "Choose what went wrong"},
		"other, not said":    {url.Values{"reason": {"other"}, "words": {" \n"}}, "Say what went wrong"},
		"more than a reason": {url.Values{"reason": {"other"}, "words": {strings.Repeat("long ", 101)}}, "Say it in fewer words"},
	} {
		t.Run(name, func(t *testing.T) {
			desk := &fakeVoider{}
			site := siteOf(t, &fakeRecords{holds: measuredHolds(t, 1)}, desk)
			w := send(t, site, "/holds/h001/void", tt.form, "text/html")
			assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
			assert.Contains(t, words(w.Body.String()), tt.want)
			assert.Contains(t, w.Body.String(), strings.TrimSpace(tt.form.Get("words")), "what was typed is kept")
			assert.Empty(t, desk.hold)

			script := send(t, site, "/holds/h001/void", tt.form, "application/json")
			assert.Equal(t, http.StatusUnprocessableEntity, script.Code)
			assert.Contains(t, script.Body.String(), tt.want)
		})
	}
}

func TestAHoldIsSetAsideOnce(t *testing.T) {
	holds := measuredHolds(t, 1)
	holds[0].Aside = &web.Aside{At: holds[0].Ended, Reason: "bumped"}
	desk := &fakeVoider{}
	site := siteOf(t, &fakeRecords{holds: holds}, desk)
	page := ask(t, site, "/holds/h001").Body.String()
	assert.Contains(t, words(page), "Set aside on 2 Mar 2026 10:20:40 : bumped.")
	assert.NotContains(t, page, "<form", "there is nothing more to set aside")

	again := send(t, site, "/holds/h001/void", url.Values{"reason": {"key moved"}}, "text/html")
	assert.Equal(t, http.StatusUnprocessableEntity, again.Code)
	assert.Contains(t, words(again.Body.String()), "set aside before")
	assert.Empty(t, desk.hold)
}

func TestWhatTheLedgerRefusesStandsOnThePage(t *testing.T) {
	desk := &fakeVoider{fault: &web.Fault{Says: "This hold is still being measured."}}
	w := send(t, siteOf(t, &fakeRecords{holds: measuredHolds(t, 1)}, desk), "/holds/h001/void", url.Values{"reason": {"bumped"}}, "text/html")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, words(w.Body.String()), "This hold is still being measured.")
	assert.Contains(t, w.Body.String(), `value="bumped" checked`)
}

func TestTheBenchsScriptSetsAHoldAsideWithoutAPage(t *testing.T) {
	desk := &fakeVoider{}
	w := send(t, siteOf(t, &fakeRecords{holds: measuredHolds(t, 1)}, desk), "/holds/h001/void", url.Values{"reason": {"bumped"}}, "application/json")
	assert.Equal(t, http.StatusNoContent, w.Code)
	assert.Equal(t, "bumped", desk.reason)
}

func TestAPageThatOnlyLooksSetsNothingAside(t *testing.T) {
	site := siteOf(t, &fakeRecords{holds: measuredHolds(t, 1)}, nil)
	assert.NotContains(t, ask(t, site, "/holds/h001").Body.String(), `method="post"`)
	assert.Equal(t, http.StatusNotImplemented, send(t, site, "/holds/h001/void", url.Values{"reason": {"bumped"}}, "text/html").Code)
}

func TestAHoldWithoutItsEndIsSaidToBeMeasuredOrInterrupted(t *testing.T) {
	for _, unended := range []string{bench.BeingMeasured, bench.Interrupted} {
		hold := measuredHolds(t, 1)[0]
		hold.Outcome = trial.Outcome{ID: hold.ID}
		hold.Unended = unended
		hold.Repeat = &bench.Repeat{}
		site := siteOf(t, &fakeRecords{holds: []web.WholeHold{hold}}, &fakeVoider{})
		page := ask(t, site, "/holds/"+hold.ID).Body.String()
		text := words(page)
		assert.Contains(t, page, `<span class="word">`+unended+`</span>`)
		assert.NotContains(t, text, "not a hold")
		assert.NotContains(t, text, "no leakage rate")
		assert.NotContains(t, text, "be repeated")
		assert.Equal(t, unended == bench.BeingMeasured, strings.Contains(text, "no result yet"))
		assert.Equal(t, unended == bench.BeingMeasured, strings.Contains(text, "hold began"))
		assert.Equal(t, unended == bench.Interrupted, strings.Contains(text, "Set this hold aside"), "once it has ended")

		listed := words(ask(t, site, "/holds").Body.String())
		assert.Contains(t, listed, "T-1001 "+unended+" — —")
		assert.NotContains(t, listed, "not a hold")
	}
}
