package web

import (
	"errors"
	"fmt"
	"net/http"

	"boretight/internal/bench"
)

// holdPageView is the page of one hold. It has no script.
type holdPageView struct {
	Theme         string
	Hold          holdView
	Size          int    // of the figure in characters, which decides how large they are
	Scale         string // of the trace, in words
	Width, Height string // of its view box
}

func (s *Site) holdPage(w http.ResponseWriter, r *http.Request) {
	hold, err := s.ledger.Hold(r.Context(), r.PathValue("id"))
	switch {
	case errors.Is(err, ErrNoHold):
		say(w, http.StatusNotFound, "the ledger has no hold of that name")
		return
	case err != nil:
		s.fault(w, r, err)
		return
	}
	alone := scaleOf([]bench.HoldData{hold})
	view := holdPageView{
		Theme: theme(r),
		Hold:  s.holdView(hold, alone),
		Scale: alone.words(),
		Width: fixed(tideWidth, 0), Height: fixed(tideHeight, 0),
	}
	if f := view.Hold.Figure; f != nil {
		view.Size = max(5, min(9, len([]rune(f.Value))))
	}
	s.render(w, r, "hold.html", view)
}

// words are the scale for people.
func (s scale) words() string {
	return fmt.Sprintf("%s s wide and %s kPa high", fixed(s.seconds, 0), fixed(s.pascals/1000, 1))
}
