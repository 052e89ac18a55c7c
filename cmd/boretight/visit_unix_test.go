//go:build unix

package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
)

// simulated is the joint that is mended in a visit: it leaks until somebody lays it on the
// bench as left. It plays holds by itself, several times as fast as a repairer would.
const simulated = "oboe-upper=sim:oboe-repair?speed=8"

// A whole visit at the page, from the intake to the slip, by keyboard alone: nothing else is
// ever sent to the browser. Another browser looks on, and the program ends and comes back.
func TestAVisitByKeyboard(t *testing.T) {
	t.Parallel()
	shop := filepath.Join(t.TempDir(), "shop.boretight")
	program := start(t, programPath(t), "demo", "--ledger", shop, "--listen", "127.0.0.1:0", "--gauge", simulated)
	address := strings.TrimSuffix(program.line(patience), "/")
	browser := chromium(t)
	other := browse(t, browser, address)
	require.NoError(t, chromedp.Do(other.ctx, chromedp.EmulateViewport(1280, 800)))
	other.open("/")
	k := keyboard{browse(t, browser, address)}
	require.NoError(t, chromedp.Do(k.ctx, chromedp.EmulateViewport(1280, 800)))
	v := visit{k.browsing, k}
	k.open("/")
	k.until(listening)

	t.Log("a foot switch is taught")
	k.use("#keys")
	k.use(`[data-teach="step"]`)
	k.press(kb.F9)
	k.until(`document.getElementById("taught").textContent === "Learnt: F9."`)
	k.press(kb.Escape)
	k.until(`!document.getElementById("hands").open`)

	ticket := v.intake()

	t.Log("stepped on by the foot switch, too early, and laid back by hand")
	v.between(func() { k.press(kb.F9) }, `document.getElementById("whenleft").textContent === "as left"`)
	v.between(func() { k.press(kb.Insert) }, `location.pathname === "/bench/lay"`)
	k.use(`form:has([name="ticket"][value="` + ticket + `"]):has([name="when"][value="as_found"]) button`)
	k.until(listening + ` && document.getElementById("whenleft").textContent === "as found"`)

	v.measured("fail")
	v.between(func() { k.press(kb.PageUp) }, `document.getElementById("aside").open`)
	k.press("2")
	v.setAside()
	v.measured("fail")

	v.between(func() { k.press(kb.F9) }, `document.getElementById("whenleft").textContent === "as left"`)
	address = v.restart(program, shop, other)
	other.until(`document.getElementById("whenleft").textContent === "as left" && document.getElementById("ticket").textContent === ` + quoted(ticket))
	v.measured("pass")

	v.atTheEnd(ticket)
	v.sameFor(other)
	k.assertWell(true)
	other.assertWell(true)
	assert.NotEmpty(t, address)
}

// The same by touch, on a tablet held upright.
func TestAVisitByTouch(t *testing.T) {
	t.Parallel()
	shop := filepath.Join(t.TempDir(), "shop.boretight")
	program := start(t, programPath(t), "demo", "--ledger", shop, "--listen", "127.0.0.1:0", "--gauge", simulated)
	f := finger{browse(t, chromium(t), strings.TrimSuffix(program.line(patience), "/"))}
	require.NoError(t, chromedp.Do(f.ctx, chromedp.EmulateViewport(768, 1024, chromedp.EmulateTouch, chromedp.EmulateMobile)))
	v := visit{f.browsing, f}
	f.open("/")
	f.until(listening)

	ticket := v.intake()
	v.measured("fail")
	v.between(func() { f.tap("#void") }, `document.getElementById("aside").open`)
	f.tap("#reasons li:nth-child(2) button")
	v.setAside()
	v.measured("fail")
	v.between(func() { f.tap("#step button") }, `document.getElementById("whenleft").textContent === "as left"`)
	v.measured("pass")
	v.atTheEnd(ticket)
	f.assertWell(false)
}

// visit is somebody's at the page.
type visit struct {
	*browsing
	hands hands
}

// listening is true once the page's script has taken over: only it writes addresses.
const listening = `document.getElementById("gauges").textContent.includes("sim:oboe")`

// intake opens a ticket for an oboe's upper joint and puts it on the bench as found. It
// returns the ticket's number.
func (v visit) intake() string {
	v.Helper()
	v.Log("intake")
	v.hands.use(`nav a[href="/tickets"]`)
	v.hands.use(`a.main[href="/tickets/new"]`)
	v.hands.choose("#field-instrument", "Oboe")
	v.hands.use(`input[value="oboe/lower"]`)
	v.hands.use(`input[value="oboe/bell"]`)
	v.until(`[...document.querySelectorAll('input[name="joints"]:checked')].filter((e) => e.checkVisibility()).map((e) => e.value).join() === "oboe/upper"`)
	for _, told := range [][2]string{
		{"serial", "4711"}, {"maker", "A maker"}, {"model", "901"}, {"customer", "A. Pupil"}, {"contact", "by post"},
		{"complaint", "stuffy low notes"}, {"condition", "dry bore"},
	} {
		v.hands.fill("#field-"+told[0], told[1])
	}
	if _, taps := v.hands.(finger); taps {
		v.hands.use(".intake button.main")
	}
	v.until(`/^\/tickets\/T-\d+$/.test(location.pathname)`)
	ticket := strings.TrimPrefix(v.get("location.pathname"), "/tickets/")
	v.Log("laid on the bench")
	v.until(`document.activeElement.matches(".ticket-next button")`)
	v.hands.use(".ticket-next button")
	v.until(`location.pathname === "/" && document.getElementById("whenleft").textContent === "as found" &&
		document.getElementById("ticket").textContent === ` + quoted(ticket) + ` && ` + listening)
	return ticket
}

// between does something between two holds, again if a hold began just then, until it is
// done: the simulated joint waits for nobody.
func (v visit) between(do func(), done string) {
	v.Helper()
	for deadline := time.Now().Add(patience); !v.is(done); {
		require.True(v, time.Now().Before(deadline), "never done: %s", done)
		if !v.is(`!document.getElementById("next").inert`) {
			time.Sleep(20 * time.Millisecond) // between two looks
			continue
		}
		do()
		for answered := time.Now().Add(3 * time.Second); time.Now().Before(answered) && !v.is(done+` || document.getElementById("said").textContent.startsWith("In the middle")`); {
			time.Sleep(20 * time.Millisecond)
		}
	}
}

// measured waits until a trial of three holds has the verdict.
func (v visit) measured(verdict string) {
	v.Helper()
	v.Log("held until the trial says", verdict)
	v.until(`(() => {
		const trial = document.querySelector("#holds .trial");
		return parseInt(/Trial of (\d+)/.exec(trial.textContent)[1]) >= 3 && trial.querySelector(".combined b").textContent === ` + quoted(verdict) + `;
	})()`)
}

// setAside waits until a hold of the trial was set aside and others have filled it up.
func (v visit) setAside() {
	v.Helper()
	v.until(`document.getElementById("said").textContent === "The hold is set aside."`)
	for deadline := time.Now().Add(patience); ; time.Sleep(50 * time.Millisecond) { // between two looks
		trial := v.snapshot().Gauges[0].Trial
		require.NotNil(v, trial)
		if trial.Holds >= 3 && strings.Contains(get(v.T, v.page+"/trials/"+trial.ID), "set aside") {
			return
		}
		require.True(v, time.Now().Before(deadline), "no hold of trial %s is set aside", trial.ID)
	}
}

func (v visit) snapshot() (s bench.Snapshot) {
	v.Helper()
	require.NoError(v, json.Unmarshal([]byte(get(v.T, v.page+"/api/v1/snapshot")), &s))
	require.Len(v, s.Gauges, 1)
	return s
}

// restart ends the program and starts it again, on the same ledger and address, and waits
// until both browsers have noticed either by themselves.
func (v visit) restart(program *process, shop string, other *browsing) string {
	v.Helper()
	v.Log("the program ends")
	require.Zero(v, program.stop(syscall.SIGTERM))
	ended := time.Now()
	for _, b := range []*browsing{v.browsing, other} {
		b.until(`document.getElementById("state").textContent === "no contact" && document.getElementById("result").hidden`)
		contact := b.of("contact")
		assert.LessOrEqual(v, time.UnixMilli(contact[len(contact)-1].At).Sub(ended), 2*time.Second, "a lost program is said within 2 s")
	}
	address := strings.TrimPrefix(v.page, "http://")
	v.Log("and comes back")
	again := start(v.T, programPath(v.T), "demo", "--ledger", shop, "--listen", address, "--gauge", simulated)
	require.Equal(v, v.page+"/", again.line(patience))
	for _, b := range []*browsing{v.browsing, other} {
		b.until(`!document.body.classList.contains("lost") && document.getElementById("state").textContent !== "no contact"`)
	}
	return address
}

// atTheEnd looks at what came of the visit: ticket, comparison and slip.
func (v visit) atTheEnd(ticket string) {
	v.Helper()
	v.Log("compared")
	v.between(func() { v.hands.use(`#next a[href="/tickets/` + ticket + `"]`) }, `location.pathname === `+quoted("/tickets/"+ticket))
	v.hands.use(`.ticket-side a[href^="/compare"]`)
	v.until(`location.pathname === "/compare" && document.readyState === "complete"`)
	ratio, err := strconv.ParseFloat(v.text(`.versus section:last-child .value`), 64)
	require.NoError(v, err)
	interval := regexp.MustCompile(`([\d.]+) to ([\d.]+)`).FindStringSubmatch(v.text(`.versus section:last-child`))
	require.Len(v, interval, 3, "a ratio has an interval")
	low, err := strconv.ParseFloat(interval[1], 64)
	require.NoError(v, err)
	high, err := strconv.ParseFloat(interval[2], 64)
	require.NoError(v, err)
	assert.Less(v, low, 2.0, "the joint was made twice as tight")
	assert.Greater(v, high, 2.0, "the joint was made twice as tight")
	assert.True(v, 1 < low && low < ratio && ratio < high, "%g in %g to %g", ratio, low, high)
	v.Log("printed")
	v.hands.use(`a[href="/print/slip/` + ticket + `"]`)
	v.until(`location.pathname === ` + quoted("/print/slip/"+ticket) + ` && document.querySelector("h1").textContent.includes(` + quoted(ticket) + `)`)
	assert.Contains(v, v.text("main"), "A. Pupil")
	v.recorded(ticket)
}

// recorded looks into what the program knows: the hold that was set aside, and why.
func (v visit) recorded(ticket string) {
	v.Helper()
	s := v.snapshot()
	assert.Equal(v, ticket, s.Gauges[0].Setup.Ticket)
	assert.Equal(v, "as_left", s.Gauges[0].Setup.When)
	assert.Contains(v, get(v.T, fmt.Sprintf("%s/holds?words=%s", v.page, ticket)), "set aside")
}

// sameFor holds another browser to what this one showed: each hold and each trial alike.
func (v visit) sameFor(other *browsing) {
	v.Helper()
	for _, kind := range []string{"hold", "trial"} {
		here, there := lastOf(v.of(kind)), lastOf(other.of(kind))
		both := 0
		for of, says := range here {
			if seen, ok := there[of]; ok {
				both++
				// What is set aside in the next hold is shown after it, so each must have shown what the other showed last.
				alike := slices.ContainsFunc(other.of(kind), func(t testimony) bool { return t.Of == of && t.Says == says }) ||
					slices.ContainsFunc(v.of(kind), func(t testimony) bool { return t.Of == of && t.Says == seen })
				assert.True(v, alike, "%s %s: %s here, %s there", kind, of, says, seen)
			}
		}
		assert.GreaterOrEqual(v, both, 4, "seen in both browsers: %s", kind)
	}
}

// lastOf is what was told last of each thing.
func lastOf(all []testimony) map[string]string {
	last := map[string]string{}
	for _, t := range all {
		last[t.Of] = t.Says
	}
	return last
}
