package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ticket"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// post sends a form as the page itself would.
func post(t *testing.T, site http.Handler, path string, pairs ...string) *httptest.ResponseRecorder {
	t.Helper()
	values := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		values.Add(pairs[i], pairs[i+1])
	}
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, path, strings.NewReader(values.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.Host = "localhost:8417"
	w := httptest.NewRecorder()
	site.ServeHTTP(w, r)
	return w
}

func TestATicketIsOpenedFromTheForm(t *testing.T) {
	s := newShelf(t)
	site := ticketSite(t, s)
	page := ask(t, site, "/tickets/new").Body.String()
	assert.Contains(t, page, `name="instrument" autofocus`, "the first field has the focus")
	assert.Equal(t, strings.Count(page, `name="joints"`), strings.Count(page, `checked> `), "all joints are ticked")
	assert.NotContains(t, page, "<script>")

	w := post(t, site, "/tickets/new", "instrument", "oboe", "joints", "oboe/upper", "joints", "oboe/lower", "joints", "flute/body",
		"maker", "Hallwell", "serial", "HW 3001", "customer", "Ines Gray", "contact", "0555 0199", "complaint", "Leaks.", "condition", "Clean.")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Equal(t, "/tickets/T-1004?new=1", w.Header().Get("Location"))
	got := s.tickets[3]
	assert.Equal(t, []string{"upper", "lower"}, got.Joints, "of the kind chosen, in its order")
	assert.Equal(t, ticket.Customer{Name: "Ines Gray", Contact: "0555 0199"}, got.Customer)
	assert.Equal(t, "Hallwell", got.Instrument.Maker)
	assert.Equal(t, "Leaks.", got.Complaint)

	page = ask(t, site, "/tickets/T-1004?new=1").Body.String()
	assert.Regexp(t, `<button class="main" autofocus aria-label="Put on the bench: Upper [^"]*, as found"`, page, "one more Enter lays it on the bench")
}

func TestARefusedTicketKeepsWhatWasTyped(t *testing.T) {
	tests := map[string]struct {
		told    []string
		refusal error
		fault   string // beside its field
		focus   string
	}{
		"no kind":  {[]string{"instrument", ""}, nil, `id="field-instrument-fault">Choose what kind`, `<select id="field-instrument" name="instrument" autofocus`},
		"no joint": {[]string{"instrument", "oboe"}, nil, `id="field-joints-fault">Tick at least one joint`, ""},
		"refused by the ledger": {
			[]string{"instrument", "oboe", "joints", "oboe/upper"}, &ticket.Fault{Field: "serial", Says: "61 characters; want at most 60"},
			`id="field-serial-fault">61 characters; want at most 60.`, `name="serial" value="A &lt; 7" autofocus`,
		},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			s := newShelf(t)
			s.refusal = tt.refusal
			w := post(t, ticketSite(t, s), "/tickets/new", append(tt.told, "maker", `<b>"Hall & Sons"</b>`, "complaint", "</textarea><script>x", "serial", "A < 7")...)
			require.Equal(t, http.StatusUnprocessableEntity, w.Code)
			page := w.Body.String()
			assert.Contains(t, page, tt.fault)
			assert.Contains(t, page, tt.focus)
			assert.Contains(t, page, `value="&lt;b&gt;&#34;Hall &amp; Sons&#34;&lt;/b&gt;"`)
			assert.Contains(t, page, `value="&lt;/textarea&gt;&lt;script&gt;x"`)
			assert.NotContains(t, page, "<script>")
			assert.Len(t, s.tickets, 3)
		})
	}
}

func TestAnInstrumentSeenBeforeIsOffered(t *testing.T) {
	s := newShelf(t)
	site := ticketSite(t, s)
	told := []string{"instrument", "oboe", "joints", "oboe/upper", "serial", "hw 2214"}

	w := post(t, site, "/tickets/new", told...)
	require.Equal(t, http.StatusOK, w.Code, "it asks first")
	assert.Contains(t, w.Body.String(), `name="seen" value="i1" autofocus`)
	assert.Contains(t, words(w.Body.String()), "Hallwell Conservatoire no. HW 2214 Ada Fenwick, last here 2 Mar 2026")

	filled := post(t, site, "/tickets/new", append(told, "seen", "i1")...).Body.String()
	for _, want := range []string{`name="known" value="i1"`, `value="Conservatoire"`, `value="Ada Fenwick"`, `value="0555 0101"`, `name="complaint" value="" autofocus`} {
		assert.Contains(t, filled, want)
	}
	assert.Len(t, s.tickets, 3)
	require.Equal(t, http.StatusSeeOther, post(t, site, "/tickets/new", append(told, "known", "i1")...).Code)
	assert.Equal(t, "i1", s.tickets[3].Instrument.ID, "one instrument over both visits")

	require.Equal(t, http.StatusSeeOther, post(t, site, "/tickets/new", append(told, "seen", "another")...).Code)
	assert.NotEqual(t, "i1", s.tickets[4].Instrument.ID)

	byCustomer := post(t, site, "/tickets/new", "do", "go", "instrument", "clarinet", "customer", "marsh road school")
	assert.Contains(t, byCustomer.Body.String(), `name="seen" value="i2"`)
	looked := post(t, site, "/tickets/new", "do", "look", "customer", "marsh road")
	assert.Equal(t, http.StatusOK, looked.Code)
	assert.Contains(t, looked.Body.String(), `name="seen" value="i2"`)
	assert.Contains(t, words(post(t, site, "/tickets/new", "do", "look", "serial", "none").Body.String()), "No instrument that was here before")

	again := ask(t, site, "/tickets/new?instrument=i3").Body.String()
	assert.Contains(t, again, `name="known" value="i3"`)
	assert.Contains(t, again, `value="flute/head" checked`, "all joints, whichever were held last time")
}

func TestEnterGoesOn(t *testing.T) {
	s := newShelf(t)
	site := ticketSite(t, s)
	typed := []string{"do", "go", "joints", "flute/body"}
	for _, step := range []struct{ field, typed, next string }{
		{"instrument", "flute", "serial"},
		{"serial", "900", "maker"},
		{"maker", "", "model"},
		{"model", "", "customer"},
		{"customer", "Una Poole", "contact"},
		{"contact", "", "complaint"},
		{"complaint", "Breathy.", "condition"},
	} {
		typed = append(typed, step.field, step.typed)
		w := post(t, site, "/tickets/new", append(typed, "at", step.field)...)
		require.Equal(t, http.StatusOK, w.Code, "from %s", step.field)
		assert.Regexp(t, `name="`+step.next+`"( value="")? autofocus`, w.Body.String(), "from %s", step.field)
		assert.NotContains(t, w.Body.String(), `role="alert"`)
	}
	assert.Len(t, s.tickets, 3)
	require.Equal(t, http.StatusSeeOther, post(t, site, "/tickets/new", append(typed, "at", "condition")...).Code)
	assert.Equal(t, "Una Poole", s.tickets[3].Customer.Name)
}

func TestTicketPageTellsBothSides(t *testing.T) {
	s := newShelf(t)
	site := ticketSite(t, s)
	said := words(ask(t, site, "/tickets/T-1001").Body.String())
	assert.Contains(t, said, "Next Upper (top) joint, as found Put on the bench")
	assert.Contains(t, said, "not measured yet")

	s.measured("T-1001", "upper", "as_found", 12.4, 0.3, trial.Fail)
	s.measured("T-1001", "upper", "as_left", 1.24, 0.02, trial.Pass)
	page := ask(t, site, "/tickets/T-1001").Body.String()
	said = words(page)
	for _, want := range []string{
		"Ada Fenwick 0555 0101", "Low notes come late", "cracked adhesive",
		"12.40 ± 0.60 sccm fail P(within) < 0.001 3 holds", "1.240 ± 0.040 sccm pass P(within) > 0.999 3 holds",
		"all keys closed, suction limit 2.5 sccm at 2.50 kPa", "10.0 times tighter 95 % interval", "Next Lower (bottom) joint, as found",
	} {
		assert.Contains(t, said, want)
	}
	assert.Equal(t, 1, strings.Count(said, "limit 2.5 sccm"), "the limit once")
	assert.Equal(t, 1, strings.Count(said, "Rule: "), "the rule once")
	for _, want := range []string{`href="/compare?found=trial1&amp;left=trial2"`, `href="/trials/trial1"`, `href="/print/slip/T-1001"`, `href="/print/label/T-1001"`} {
		assert.Contains(t, page, want)
	}
	for _, mark := range []string{"<script", " style=", "http:", "https:"} {
		assert.NotContains(t, page, mark)
	}
}

func TestATicketIsWorkedOn(t *testing.T) {
	s := newShelf(t)
	site := ticketSite(t, s)
	w := post(t, site, "/tickets/T-1001/work", "joint", "upper", "seat", "G#", "did", "")
	require.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), `id="field-did-fault">Say what was done`)
	assert.Contains(t, w.Body.String(), `name="seat" value="G#"`)

	require.Equal(t, http.StatusSeeOther, post(t, site, "/tickets/T-1001/work", "joint", "upper", "seat", "G#", "did", "New <pad>.").Code)
	assert.Contains(t, words(ask(t, site, "/tickets/T-1001").Body.String()), "Upper (top) joint, seat G# New <pad>.")

	require.Equal(t, http.StatusSeeOther, post(t, site, "/tickets/T-1001/bench", "joint", "oboe/lower", "when", "as_left", "closure", "all keys closed", "gauge", "left").Code)
	assert.Equal(t, web.Put{Ticket: "T-1001", Joint: "oboe/lower", When: "as_left", Closure: "all keys closed"}, s.put)
	assert.Equal(t, "left", s.gauge)
	w = post(t, site, "/tickets/T-1001/bench", "joint", "oboe/bell", "when", "as_left")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, words(w.Body.String()), "This ticket has no joint")
	s.refusal = &web.Fault{Field: "gauge", Says: "there is no gauge <x> on this bench"}
	w = post(t, site, "/tickets/T-1001/bench", "joint", "oboe/lower", "when", "as_left")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "there is no gauge &lt;x&gt; on this bench.")
	s.refusal = nil

	for _, joint := range []string{"upper", "lower"} {
		for _, when := range []string{"as_found", "as_left"} {
			assert.NotContains(t, words(ask(t, site, "/tickets/T-1001").Body.String()), "All is measured.")
			s.measured("T-1001", joint, when, 1, 0.1, trial.Pass)
		}
	}
	assert.Contains(t, words(ask(t, site, "/tickets/T-1001").Body.String()), "All is measured.")

	require.Equal(t, http.StatusSeeOther, post(t, site, "/tickets/T-1001/close", "remark", "Play in slowly.").Code)
	assert.False(t, s.tickets[0].Open())
	said := words(ask(t, site, "/tickets/T-1001").Body.String())
	assert.Contains(t, said, "Play in slowly.")
	assert.Contains(t, said, "Open it again")
	assert.NotContains(t, said, "Put on the bench")
	require.Equal(t, http.StatusSeeOther, post(t, site, "/tickets/T-1001/reopen").Code)
	assert.True(t, s.tickets[0].Open())
	assert.Equal(t, "Play in slowly.", s.tickets[0].Remark)

	assert.Contains(t, ask(t, site, "/tickets/T-1001/edit").Body.String(), `value="Ada Fenwick"`)
	require.Equal(t, http.StatusSeeOther, post(t, site, "/tickets/T-1001/edit", "instrument", "oboe", "joints", "oboe/lower", "customer", "Ada Fenwick-Hill").Code)
	assert.Equal(t, "i1", s.tickets[0].Instrument.ID)
	assert.Equal(t, []string{"lower"}, s.tickets[0].Joints)
	assert.Equal(t, "Ada Fenwick-Hill", s.tickets[0].Customer.Name)
	assert.Len(t, s.tickets[0].Work, 1, "what was done stays")
}

func TestTicketsAreListed(t *testing.T) {
	s := newShelf(t)
	site := ticketSite(t, s)
	require.Equal(t, http.StatusSeeOther, post(t, site, "/tickets/T-1002/close").Code)
	said := words(ask(t, site, "/tickets").Body.String())
	assert.NotContains(t, said, "T-1002", "open ones")
	assert.Less(t, strings.Index(said, "T-1003"), strings.Index(said, "T-1001"), "newest first")
	assert.Contains(t, words(ask(t, site, "/tickets?of=all").Body.String()), "T-1002")
	said = words(ask(t, site, "/tickets?words=2214").Body.String())
	assert.Contains(t, said, "T-1001")
	assert.NotContains(t, said, "T-1003")
	assert.Contains(t, words(ask(t, site, "/tickets?words=nobody").Body.String()), "No open ticket has all of these words.")

	for range 45 {
		_, err := s.KeepTicket(t.Context(), ticket.Ticket{Instrument: ticket.Instrument{Template: "flute"}, Joints: []string{"body"}})
		require.NoError(t, err)
	}
	page := ask(t, site, "/tickets").Body.String()
	assert.Equal(t, 40, strings.Count(page, `class="ticket-number-of"`))
	assert.Contains(t, page, `href="/tickets?before=T-1009"`)
	page = ask(t, site, "/tickets?before=T-1009").Body.String()
	assert.Contains(t, page, "T-1008")
	assert.NotContains(t, page, "Older")
	assert.Contains(t, page, `href="/tickets">Newest`)
}

func TestAnInstrumentHasItsVisits(t *testing.T) {
	s := newShelf(t)
	s.measured("T-1001", "upper", "as_found", 12.4, 0.3, trial.Fail)
	site := ticketSite(t, s)
	assert.NotContains(t, ask(t, site, "/instruments/i1").Body.String(), "redrawn", "one trial has no course")
	s.measured("T-1001", "upper", "as_left", 1.24, 0.02, trial.Pass)
	said := words(ask(t, site, "/instruments?words=hallwell").Body.String())
	assert.Contains(t, said, "Oboe")
	assert.NotContains(t, said, "Pellworm")
	said = words(ask(t, site, "/instruments/i1").Body.String())
	for _, want := range []string{"Hallwell Conservatoire no. HW 2214", "T-1001 as found 2 Mar 2026 12.40 ± 0.60 sccm fail 2.5 sccm at 2.50 kPa all keys closed, suction", "Rule: ", "Low notes come late", "12.40 ± 0.60 sccm, fail; as left 1.240 ± 0.040 sccm, pass. Limit 2.5 sccm."} {
		assert.Contains(t, said, want)
	}
}

func TestWhatIsNotThereIsSaidWithinTheFrame(t *testing.T) {
	site := ticketSite(t, newShelf(t))
	for path, want := range map[string]string{
		"/tickets/T-9":                 "There is no such ticket.",
		"/tickets/T-9/edit":            "There is no such ticket.",
		"/tickets/%3Cscript%3E":        "There is no such ticket.",
		"/instruments/none":            "There is no such instrument.",
		"/tickets/new?instrument=none": "There is no such instrument.",
	} {
		w := ask(t, site, path)
		assert.Equal(t, http.StatusNotFound, w.Code, path)
		assert.Contains(t, words(w.Body.String()), want)
		assert.Contains(t, w.Body.String(), `<nav class="places"`)
	}
	for _, path := range []string{"/tickets/T-9/work", "/tickets/T-9/close", "/tickets/T-9/bench"} {
		assert.Equal(t, http.StatusNotFound, post(t, site, path, "did", "x").Code, path)
	}
}

func TestASiteThatOnlyLooksOffersNoChange(t *testing.T) {
	s := newShelf(t)
	site, err := web.New(web.Options{Bench: newFake(), Ledger: s})
	require.NoError(t, err)
	for _, path := range []string{"/tickets", "/tickets/T-1001", "/instruments/i1"} {
		page := ask(t, site, path).Body.String()
		assert.NotContains(t, page, `method="post"`, path)
		assert.NotContains(t, page, "/tickets/new", path)
	}
	assert.Equal(t, http.StatusNotImplemented, post(t, site, "/tickets/new").Code)
	assert.Equal(t, http.StatusNotFound, ask(t, bareSite(t), "/tickets").Code, "without tickets in the ledger")
}

// bareSite is one without a ledger of tickets.
func bareSite(t *testing.T) *web.Site {
	t.Helper()
	site, err := web.New(web.Options{Bench: newFake()})
	require.NoError(t, err)
	return site
}
