package web_test

import (
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/rig"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// shopSlip is what a visit with so many joints came to.
func shopSlip(t *testing.T, joints int) web.Slip {
	t.Helper()
	found, left := measuredTrial(t, "found", "as_found", 7, trial.Fail), measuredTrial(t, "left", "as_left", 1.2, trial.Pass)
	change, err := trial.Compare(found.Result, left.Result, trial.SameBench())
	require.NoError(t, err)
	slip := web.Slip{
		Ticket: "T-1001", Opened: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC), Closed: time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC),
		Instrument: "clarinet", Maker: "Maker", Model: "Model 5", Serial: "0815", Customer: "A. <b>Customer</b>",
		Work: []web.SlipWork{{Joint: "upper", Seat: "G#", Did: "new pad"}, {Did: "regulated"}},
	}
	for i := range joints {
		slip.Joints = append(slip.Joints, web.SlipJoint{Joint: fmt.Sprintf("joint %d", i+1), Found: &found.TrialRecord, Left: &left.TrialRecord, Change: &change})
	}
	return slip
}

func TestTheSlipSaysWhatWasFoundAndLeft(t *testing.T) {
	page := ask(t, siteOf(t, &fakeRecords{slip: shopSlip(t, 2)}, nil), "/print/slip/T-1001").Body.String()
	text := words(page)
	for _, want := range []string{"Reed & Bore <Repairs> 1 Ferry Lane", "Ticket T-1001", "clarinet, Maker Model 5, serial 0815", "For A. <b>Customer</b>",
		"Received 1 Mar 2026. Finished 4 Mar 2026.", "leakage rate in sccm",
		"joint 1 7.00 ± 0.28 95 %: 6.73 to 7.27 fail 1.200 ± 0.048 95 %: 1.153 to 1.247 pass 2.5 5.83 times tighter, 95 % interval 5.64 to 6.03.", "at 2.50 kPa suction",
		"Decision rule: pass when", "upper G#: new pad", "regulated", "does not decide that an instrument or a method is safe"} {
		assert.Contains(t, text, want)
	}
	assert.NotContains(t, page, "<b>Customer", "what people wrote is escaped")
}

// notProven is what the program itself says of a rig of which nothing is on record.
func notProven() string {
	return rig.NewStanding(time.Now(), rig.Subject{}).Proof.Says
}

const catalogBore = "In each of the 2 holds: The volume is that of the catalog's bore with hose and stoppers, 34.2 ± 5.1 ml: before a limit matters, measure it (boretight rig volume)."

func TestWhatIsPrintedCarriesItsReservations(t *testing.T) {
	slip := shopSlip(t, 2)
	found, left := *slip.Joints[0].Found, *slip.Joints[0].Left
	found.Result.Notes = []string{catalogBore, notProven()}
	left.Result.Notes = []string{notProven(), "In 1 of 2 holds: 4.2 s after isolation the pressure jumped, as from a knock or a touched hose: only the stretch before counts."}
	for i := range slip.Joints {
		slip.Joints[i].Found, slip.Joints[i].Left = &found, &left
	}
	slip.Joints[1].Change, slip.Joints[1].Uncompared = nil, trial.ErrUnlike
	site := siteOf(t, &fakeRecords{slip: slip}, nil)
	text := words(ask(t, site, "/print/slip/T-1001").Body.String())
	assert.Contains(t, text, "Of every figure: rig not proven. a volume of the catalog’s bore, not measured. b disturbed.")
	assert.Contains(t, text, "7.00 ± 0.28 a 95 %")
	assert.Contains(t, text, "1.200 ± 0.048 b 95 %")
	assert.Contains(t, text, "No ratio: the two were not measured alike.")

	text = words(ask(t, site, "/print/label/T-1001").Body.String())
	assert.Contains(t, text, "T-1001 serial 0815 clarinet, Maker Model 5 sccm")
	assert.Contains(t, text, "rig not proven · a volume of the catalog’s bore, not measured · b disturbed")
	assert.Contains(t, text, "limit at 2.50 kPa suction")
	assert.NotContains(t, words(ask(t, siteOf(t, &fakeRecords{slip: shopSlip(t, 1)}, nil), "/print/slip/T-1001").Body.String()), "Of every figure")
}

func TestASlipWithoutMeasurementsSaysSo(t *testing.T) {
	site := siteOf(t, &fakeRecords{slip: web.Slip{Ticket: "T-1"}}, nil)
	assert.Contains(t, words(ask(t, site, "/print/slip/T-1").Body.String()), "Nothing was measured.")
	assert.Equal(t, http.StatusNotFound, ask(t, site, "/print/slip/T-2").Code)
	assert.Equal(t, http.StatusNotFound, ask(t, site, "/print/label/T-2").Code)
}

func TestTheLabelHasRoomForSixJoints(t *testing.T) {
	site := siteOf(t, &fakeRecords{slip: shopSlip(t, 8)}, nil)
	page := ask(t, site, "/print/label/T-1001?size=89x36").Body.String()
	assert.Equal(t, 6, strings.Count(page, `<th scope="row">`))
	text := words(page)
	assert.Contains(t, text, "2 more on the slip")
	assert.Contains(t, text, "joint 1 7.00 ± 0.28 fail 1.200 ± 0.048 pass 2.5")
	assert.Contains(t, text, "limit at 2.50 kPa suction · ±: U, k = 2 · pass when P(q ≤ L) ≥ 0.95 · 4 Mar 2026")
	assert.Contains(t, page, `class="label size-89x36"`)

	slip := crowdedSlip(t, 1)
	assert.Contains(t, words(ask(t, siteOf(t, &fakeRecords{slip: slip}, nil), "/print/label/T-1001").Body.String()), "· pass when P(within) ≥ 0.95 ·")
	assert.Contains(t, ask(t, site, "/print/label/T-1001?size=huge").Body.String(), `class="label size-62x29"`)
}

// The code on slip and label, drawn as a printer would and read by a reader that shares no
// code with what wrote it.
func TestTheCodeOfATicketCanBeRead(t *testing.T) {
	for _, ticket := range []string{"T-1001", "T-1234567", "Frau Müller’s oboe, on the shelf"} {
		site := siteOf(t, &fakeRecords{slip: web.Slip{Ticket: ticket}}, nil)
		page := ask(t, site, "/print/slip/"+strings.ReplaceAll(ticket, " ", "%20")).Body.String()
		svg := regexp.MustCompile(`(?s)<svg class="qr".*?</svg>`).FindString(page)
		require.NotEmpty(t, svg)
		bitmap, err := gozxing.NewBinaryBitmapFromImage(rasterised(t, svg))
		require.NoError(t, err)
		read, err := qrcode.NewQRCodeReader().Decode(bitmap, nil)
		require.NoError(t, err, ticket)
		assert.Equal(t, ticket, read.GetText())
	}
}

// rasterised draws the second path of a QR code, four pixels a module.
func rasterised(t *testing.T, svg string) image.Image {
	t.Helper()
	var code struct {
		ViewBox string `xml:"viewBox,attr"`
		Paths   []struct {
			D string `xml:"d,attr"`
		} `xml:"path"`
	}
	require.NoError(t, xml.Unmarshal([]byte(svg), &code))
	require.Len(t, code.Paths, 2)
	var size, height int
	_, err := fmt.Sscanf(code.ViewBox, "0 0 %d %d", &size, &height)
	require.NoError(t, err)
	const pixels = 4
	picture := image.NewGray(image.Rect(0, 0, pixels*size, pixels*size))
	for i := range picture.Pix {
		picture.Pix[i] = 255
	}
	for _, run := range strings.SplitAfter(code.Paths[1].D, "z") {
		if run == "" {
			continue
		}
		var x, y, width, back int
		_, err := fmt.Sscanf(run, "M%d %dh%dv1h-%dz", &x, &y, &width, &back)
		require.NoError(t, err, run)
		require.Equal(t, width, back)
		require.GreaterOrEqual(t, min(x, y, size-x-width, size-y-1), 4, "the quiet zone is kept")
		for py := range pixels {
			for px := range pixels * width {
				picture.SetGray(pixels*x+px, pixels*y+py, color.Gray{})
			}
		}
	}
	return picture
}
