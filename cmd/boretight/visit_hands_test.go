//go:build unix

package main

import (
	"fmt"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hands work at a page.
type hands interface {
	// use does what the link, button or box is for.
	use(selector string)
	// fill types into a field and goes on.
	fill(selector, text string)
	// choose takes one of a list's by its name.
	choose(selector, name string)
}

// keyboard is hands that only press keys.
type keyboard struct{ *browsing }

// press presses keys one after another.
func (k keyboard) press(keys string) {
	k.Helper()
	require.NoError(k, chromedp.Do(k.ctx, chromedp.KeyEvent(keys)))
}

// mostTabs is more than any page has that can have the focus.
const mostTabs = 150

// reach moves the focus to an element, with Tab or back with Shift and Tab, unless it has it
// already.
func (k keyboard) reach(selector string) {
	k.Helper()
	k.until(`document.readyState === "complete" && document.querySelector(` + quoted(selector) + `)`)
	way := `(() => {
		const at = document.activeElement, to = document.querySelector(` + quoted(selector) + `);
		return at === to ? "here" : at !== document.body && at.compareDocumentPosition(to) & Node.DOCUMENT_POSITION_PRECEDING ? "back" : "on";
	})()`
	var passed []string
	for range mostTabs {
		switch k.get(way) {
		case "here":
			return
		case "back":
			require.NoError(k, chromedp.Do(k.ctx, chromedp.KeyEvent(kb.Tab, chromedp.KeyModifiers(kb.ModifierShift))))
		default:
			k.press(kb.Tab)
		}
		passed = append(passed, k.get(`document.activeElement.id || document.activeElement.localName`))
	}
	require.FailNow(k, "out of a keyboard's reach", "%s at %s; passed %q", selector, k.get("location.href"), passed)
}

func (k keyboard) use(selector string) {
	k.Helper()
	k.reach(selector)
	if k.is(`document.activeElement.type === "checkbox"`) {
		k.press(" ")
		return
	}
	k.press(kb.Enter)
}

// fill ends with Enter, which leads to the next field at once, so that nothing typed is lost;
// after the last one to the next page: as the intake has it.
func (k keyboard) fill(selector, text string) {
	k.Helper()
	k.reach(selector)
	k.press(text + kb.Enter)
	k.until(`document.activeElement !== document.querySelector(` + quoted(selector) + `)`)
}

func (k keyboard) choose(selector, name string) {
	k.Helper()
	k.reach(selector)
	k.press(name)
}

// finger is hands that only tap.
type finger struct{ *browsing }

// touchable is the least height of what a finger is to hit, in CSS pixels.
const touchable = 44

// aim scrolls an element into view and returns its middle, once it stands still there and nothing covers it.
const aim = `(() => {
	const e = document.querySelector(%s);
	if (document.readyState !== "complete" || !e || e.disabled || e.closest("[inert]")) return [];
	e.scrollIntoView({ block: "center", behavior: "instant" });
	const target = e.type === "checkbox" ? e.labels[0] : e, box = target.getBoundingClientRect();
	const x = box.left + box.width / 2, y = box.top + box.height / 2, hit = document.elementFromPoint(x, y);
	return hit && target.contains(hit) ? [x, y, box.width, box.height] : [];
})()`

// tap taps an element.
func (f finger) tap(selector string) {
	f.Helper()
	var at []float64
	for deadline := time.Now().Add(patience); len(at) == 0; time.Sleep(20 * time.Millisecond) {
		at, _ = chromedp.Run(f.ctx, chromedp.Evaluate[[]float64](fmt.Sprintf(aim, quoted(selector))))
		if len(at) == 0 && time.Now().After(deadline) {
			require.FailNow(f, "nothing to tap", "%s at %s, which says:\n%s", selector, f.get("location.href"), f.get("document.body.innerText"))
		}
	}
	assert.GreaterOrEqual(f, min(at[2], at[3]), float64(touchable)-0.5, "%s is too small for a finger, at %s", selector, f.get("location.href"))
	require.NoError(f, chromedp.Do(f.ctx, chromedp.TapXY(at[0], at[1])))
}

func (f finger) use(selector string) {
	f.Helper()
	f.tap(selector)
}

// fill types on the keyboard that a tablet shows once a field has the focus.
func (f finger) fill(selector, text string) {
	f.Helper()
	f.tap(selector)
	f.until(`document.activeElement.matches(` + quoted(selector) + `)`)
	_, err := chromedp.Call(f.ctx, input.InsertText, input.InsertTextParams{Text: text})
	require.NoError(f, err)
}

// choose takes a name from a list that the tablet shows itself, where no test can tap.
func (f finger) choose(selector, name string) {
	f.Helper()
	f.until(`(() => {
		const list = document.querySelector(` + quoted(selector) + `);
		list.value = [...list.options].find((o) => o.text.startsWith(` + quoted(name) + `)).value;
		return list.dispatchEvent(new Event("change", { bubbles: true }));
	})()`)
}
