package ticket_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ticket"
)

func oboe() ticket.Ticket {
	return ticket.Ticket{
		Opened:     time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC),
		Instrument: ticket.Instrument{Template: "oboe", Maker: "Marsh & Daughters", Serial: "1187"},
		Joints:     []string{"upper", "lower"},
		Customer:   ticket.Customer{Name: "A. Player", Contact: "12 Mill Lane\n0100 555"},
		Complaint:  "low notes do not speak",
	}
}

func TestEveryJointIsHeldAsFoundBeforeAnyAsLeft(t *testing.T) {
	want := []ticket.Stage{
		{Joint: "oboe/upper", When: "as_found"}, {Joint: "oboe/lower", When: "as_found"},
		{Joint: "oboe/upper", When: "as_left"}, {Joint: "oboe/lower", When: "as_left"},
	}
	visit := oboe()
	assert.Equal(t, want, visit.Stages())
	at := ticket.Stage{}
	for _, w := range want {
		next, ok := visit.After(at)
		require.True(t, ok, "after %v", at)
		assert.Equal(t, w, next)
		at = next
	}
	_, ok := visit.After(at)
	assert.False(t, ok, "nothing comes after the last")
	_, ok = visit.After(ticket.Stage{Joint: "flute/body", When: "as_found"})
	assert.False(t, ok, "a joint of another instrument is no stage of this visit")
	_, ok = ticket.Ticket{}.After(ticket.Stage{})
	assert.False(t, ok, "a ticket without joints has no stages")
}

func TestATicketIsOpenUntilItIsClosed(t *testing.T) {
	visit := oboe()
	assert.True(t, visit.Open())
	visit.Closed = visit.Opened.Add(time.Hour)
	assert.False(t, visit.Open())
	assert.NoError(t, visit.Validate())
}

func TestEachFieldSaysWhatIsWrongWithIt(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*ticket.Ticket)
		field  string
		says   string
	}{
		"no instrument":               {func(v *ticket.Ticket) { v.Instrument.Template = " " }, "instrument", "nothing given"},
		"no joints":                   {func(v *ticket.Ticket) { v.Joints = nil }, "joints", "at least one"},
		"a joint twice":               {func(v *ticket.Ticket) { v.Joints = []string{"upper", "upper"} }, "joints", "upper is there twice"},
		"a joint without a name":      {func(v *ticket.Ticket) { v.Joints = []string{""} }, "joints", "nothing given"},
		"more joints than any has":    {func(v *ticket.Ticket) { v.Joints = make([]string, 21) }, "joints", "21 joints; want at most 20"},
		"a serial number of a page":   {func(v *ticket.Ticket) { v.Instrument.Serial = strings.Repeat("9", 61) }, "serial", "61 characters; want at most 60"},
		"a maker on two lines":        {func(v *ticket.Ticket) { v.Instrument.Maker = "a\nb" }, "maker", "U+000A"},
		"a bell in the model":         {func(v *ticket.Ticket) { v.Instrument.Model = "a\a" }, "model", "U+0007"},
		"a name that is no text":      {func(v *ticket.Ticket) { v.Customer.Name = "\xff" }, "customer", "no text"},
		"a contact without an end":    {func(v *ticket.Ticket) { v.Customer.Contact = strings.Repeat("é", 201) }, "contact", "201 characters"},
		"a complaint without an end":  {func(v *ticket.Ticket) { v.Complaint = strings.Repeat("a", 2001) }, "complaint", "at most 2000"},
		"an invisible mark":           {func(v *ticket.Ticket) { v.Condition = "a\u202eb" }, "condition", "U+202E"},
		"closed before it was opened": {func(v *ticket.Ticket) { v.Closed = v.Opened.Add(-time.Hour) }, "closed", "before it was opened"},
	} {
		t.Run(name, func(t *testing.T) {
			visit := oboe()
			c.change(&visit)
			faults := ticket.Faults(visit.Validate())
			require.Len(t, faults, 1)
			assert.Equal(t, c.field, faults[0].Field)
			assert.Contains(t, faults[0].Says, c.says)
		})
	}
	assert.NoError(t, oboe().Validate())
}

func TestAllFaultsAreToldAtOnceAndThroughAWrapping(t *testing.T) {
	err := fmt.Errorf("keep ticket: %w", ticket.Ticket{}.Validate())
	faults := ticket.Faults(err)
	require.Len(t, faults, 2)
	assert.Equal(t, "instrument", faults[0].Field)
	assert.Equal(t, "joints", faults[1].Field)
	assert.EqualError(t, faults[1], "joints: none chosen; want at least one joint to hold")
	assert.Empty(t, ticket.Faults(nil))
	assert.Empty(t, ticket.Faults(errors.New("the disk is full")))
}

func TestWorkSaysWhatWasDone(t *testing.T) {
	faults := ticket.Faults(ticket.Work{Seat: "a\x00"}.Validate())
	require.Len(t, faults, 2)
	assert.Equal(t, "did", faults[0].Field)
	assert.Equal(t, "seat", faults[1].Field)
	assert.NoError(t, ticket.Work{Did: "floated the G# pad"}.Validate())
}
