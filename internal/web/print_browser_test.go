package web_test

import (
	"context"
	"fmt"
	"net/http/httptest"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/web"
)

// crowdedSlip is of an instrument with so many joints, all of whose names are long.
func crowdedSlip(t *testing.T, joints int) web.Slip {
	t.Helper()
	slip := shopSlip(t, joints)
	for i := range slip.Joints {
		worse, better := *slip.Joints[i].Found, *slip.Joints[i].Left
		worse.Result.Notes, better.Result.Notes = []string{catalogBore, notProven()}, []string{notProven()}
		for _, r := range []*web.TrialRecord{&worse, &better} {
			d := *r.Result.Decision
			d.Rule = longRule
			r.Result.Decision = &d
		}
		slip.Joints[i].Found, slip.Joints[i].Left = &worse, &better
		slip.Joints[i].Joint, slip.Joints[i].Section = "long joint with its extension", fmt.Sprintf("lower stack, seats %d to %d", 3*i, 3*i+2)
	}
	slip.Instrument, slip.Maker, slip.Model = "contrabassoon", "A maker with a name as long as they come", "Model of the jubilee year"
	slip.Serial, slip.Customer = "2026-000815-XL", "The Society of the Friends of Wind Music at the Town Hall"
	for i := range 14 {
		slip.Work = append(slip.Work, web.SlipWork{Joint: "long joint", Seat: "low C# trill", Did: fmt.Sprintf("new pad, floated again, spring %d set anew and its pivot screws sealed", i)})
	}
	slip.Remark = strings.Repeat("Please let it rest before it is played. ", 8)
	return slip
}

// beyond lists what of a sheet reaches beyond its edges when it is printed.
const beyond = `(() => {
	const sheet = document.querySelector(".sheet").getBoundingClientRect();
	return [...document.querySelectorAll(".sheet *")].filter((e) => {
		const box = e.getBoundingClientRect();
		const shortened = getComputedStyle(e.parentElement).textOverflow === "ellipsis";
		return !shortened && !e.closest(".aloud") && box.width > 0 && (box.right > sheet.right + 0.5 || box.bottom > sheet.bottom + 0.5 || box.left < sheet.left - 0.5 || box.top < sheet.top - 0.5);
	}).map((e) => e.tagName + " " + e.textContent.slice(0, 40)).join("; ");
})()`

// printed prints a page as a browser does and returns the document.
func printed(t *testing.T, ctx context.Context, address string) []byte {
	t.Helper()
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate(address)))
	out, err := chromedp.Call(ctx, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: new(true), PrintBackground: new(true)})
	require.NoError(t, err)
	return out.Data
}

func TestWhatIsPrintedFitsItsSheet(t *testing.T) {
	ctx := browser(t)
	const toPoints = 72 / 25.4
	for name, tt := range map[string]struct {
		slip          web.Slip
		path          string
		width, height float64 // mm
	}{
		"a slip":                               {shopSlip(t, 1), "/print/slip/T-1001", 148, 210},
		"a slip of one joint with much work":   {crowdedSlip(t, 1), "/print/slip/T-1001", 148, 210},
		"a slip of two with much work":         {crowdedSlip(t, 2), "/print/slip/T-1001", 148, 210},
		"a slip of three with much work":       {crowdedSlip(t, 3), "/print/slip/T-1001", 148, 210},
		"a slip of four with much work":        {crowdedSlip(t, 4), "/print/slip/T-1001", 148, 210},
		"a slip of five with much work":        {crowdedSlip(t, 5), "/print/slip/T-1001", 148, 210},
		"a slip of six joints with long names": {crowdedSlip(t, 6), "/print/slip/T-1001", 148, 210},
		"a slip of eight":                      {crowdedSlip(t, 8), "/print/slip/T-1001", 148, 210},
		"a small label":                        {shopSlip(t, 1), "/print/label/T-1001", 62, 29},
		"a small label of six joints":          {crowdedSlip(t, 6), "/print/label/T-1001", 62, 29},
		"a large label":                        {shopSlip(t, 3), "/print/label/T-1001?size=89x36", 89, 36},
		"a large label of six joints":          {crowdedSlip(t, 7), "/print/label/T-1001?size=89x36", 89, 36},
	} {
		t.Run(name, func(t *testing.T) {
			server := httptest.NewServer(siteOf(t, &fakeRecords{slip: tt.slip}, nil))
			defer server.Close()
			pdf := printed(t, ctx, server.URL+tt.path)
			assert.Len(t, regexp.MustCompile(`/Type /Page\b[^s]`).FindAll(pdf, -1), 1, "one sheet")
			box := regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`).FindSubmatch(pdf)
			require.Len(t, box, 3)
			for i, want := range []float64{tt.width, tt.height} {
				got, err := strconv.ParseFloat(string(box[i+1]), 64)
				require.NoError(t, err)
				assert.InDelta(t, want*toPoints, got, 1)
			}

			_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
			require.NoError(t, err)
			cut, err := chromedp.Run(ctx, chromedp.Evaluate[string](beyond))
			require.NoError(t, err)
			assert.Empty(t, cut)
			_, err = chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
			require.NoError(t, err)
		})
	}
}
