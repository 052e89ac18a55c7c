package web_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/catalog"
	"boretight/internal/trial"
	"boretight/internal/web"
)

func TestAFormThatCannotBeReadChangesNothing(t *testing.T) {
	for name, body := range map[string]string{"not in UTF-8": "remark=%ff%fe", "not encoded": "remark=%zz"} {
		t.Run(name, func(t *testing.T) {
			s := newShelf(t)
			s.tickets[0].Remark = "Play it in."
			r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/tickets/T-1001/close", strings.NewReader(body))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Host = "localhost"
			w := httptest.NewRecorder()
			ticketSite(t, s).ServeHTTP(w, r)
			assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
			assert.Contains(t, w.Body.String(), "could not be read: send it again")
			assert.True(t, s.tickets[0].Open())
			assert.Equal(t, "Play it in.", s.tickets[0].Remark)
		})
	}
}

// manyKinds is a shelf of a shop with a catalog of so many instruments.
type manyKinds struct {
	*fakeShelf
	kinds int
}

func (s manyKinds) Templates(ctx context.Context) ([]catalog.Instrument, error) {
	known, err := s.fakeShelf.Templates(ctx)
	for i := range s.kinds - len(known) {
		own := known[0]
		own.Name = fmt.Sprintf("own-%d", i)
		known = append(known, own)
	}
	return known, err
}

func TestTheJointsOfEveryKindCanBeSeen(t *testing.T) {
	s := newShelf(t)
	site, err := web.New(web.Options{Bench: newFake(), Ledger: manyKinds{s, 26}, Desk: s})
	require.NoError(t, err)
	page := ask(t, site, "/tickets/new").Body.String()
	assert.Contains(t, page, `class="joints kind-23"`)
	assert.Equal(t, 2, strings.Count(page, `class="joints kind-many"`), "those that the style sheet does not name")
}

func TestAStageWhoseHoldsWereAllSetAsideIsMeasuredAgain(t *testing.T) {
	s := newShelf(t)
	s.measured("T-1002", "upper", "as_found", 7, 0.1, trial.Fail)
	s.measured("T-1002", "upper", "as_left", 1.2, 0.02, trial.Pass)
	site := ticketSite(t, s)
	require.Contains(t, words(ask(t, site, "/tickets/T-1002").Body.String()), "All is measured.")
	s.trials[1].Result = trial.Trial{Sign: "suction"}
	said := words(ask(t, site, "/tickets/T-1002").Body.String())
	assert.NotContains(t, said, "All is measured.")
	assert.Regexp(t, `Next Upper [^,]*, as left`, said)
}

func TestEachSideOfAJointIsPrintedWithItsLimit(t *testing.T) {
	slip := shopSlip(t, 1)
	left := *slip.Joints[0].Left
	decision := *left.Result.Decision
	decision.LimitSCCM, left.Result.At, left.Result.Decision = 5, 1500, &decision
	slip.Joints[0].Left = &left
	said := words(ask(t, siteOf(t, &fakeRecords{slip: slip}, nil), "/print/slip/T-1001").Body.String())
	assert.Contains(t, said, "pass 2.5 / 5")
	assert.Contains(t, said, "at 2.50 kPa suction, then at 1.50 kPa suction")
}

// goneLedger reads nothing.
type goneLedger struct{ web.Ledger }

func (goneLedger) Hold(context.Context, string) (bench.HoldData, error) {
	return bench.HoldData{}, errors.New("the disk is gone")
}

func TestWhoAsksForAPageIsToldOfAFaultByAPage(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake(), Ledger: goneLedger{}})
	require.NoError(t, err)
	for accept, kind := range map[string]string{"text/html,*/*": "text/html; charset=utf-8", "*/*": "application/json"} {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/holds/h1", nil)
		r.Host = "localhost"
		r.Header.Set("Accept", accept)
		w := httptest.NewRecorder()
		site.ServeHTTP(w, r)
		assert.Equal(t, http.StatusInternalServerError, w.Code)
		assert.Equal(t, kind, w.Header().Get("Content-Type"))
		assert.Contains(t, w.Body.String(), "his could not be done; the program")
		assert.NotContains(t, w.Body.String(), "disk is gone", "that is for the log")
	}
}

// slowLedger answers when it is let.
type slowLedger struct {
	web.Ledger
	asked, answer chan struct{}
}

func (l slowLedger) Hold(ctx context.Context, id string) (bench.HoldData, error) {
	close(l.asked)
	<-l.answer
	h := bench.HoldData{}
	h.ID = id
	return h, ctx.Err()
}

func TestWhatIsBeingAnsweredAtTheEndIsAnswered(t *testing.T) {
	slow := slowLedger{asked: make(chan struct{}), answer: make(chan struct{})}
	site, err := web.New(web.Options{Bench: newFake(), Ledger: slow})
	require.NoError(t, err)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- site.Serve(ctx, listener) }()
	stream, err := http.Get("http://" + listener.Addr().String() + "/api/v1/live")
	require.NoError(t, err)
	defer stream.Body.Close()
	go func() {
		<-slow.asked
		cancel()
		_, _ = io.Copy(io.Discard, stream.Body) // streams end first
		close(slow.answer)
	}()
	answer, err := http.Get("http://" + listener.Addr().String() + "/api/v1/holds/h1")
	require.NoError(t, err)
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	assert.Contains(t, string(body), `"id":"h1"`)
	require.NoError(t, <-ended)
}
