package web

import (
	"net/http"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/rig"
)

// rigsView is the part of the page that says what is on record of the rigs.
type rigsView struct {
	Rigs []rigView
	Any  bool // whether a figure is shown, whose ± must be explained
}

// rigView is the rig of one gauge.
type rigView struct {
	Gauge string // empty where there is one only
	Parts string // "gauge HX-0417, hose clear 4 mm"
	Known []knownView
}

// knownView is one thing known of a rig, or that it is not known.
type knownView struct {
	Name   string // "blank in suction"
	Word   string // how it stands
	Class  string // names the shape: pass fail inconclusive none
	Figure string // "34.20 ± 0.60 ml"; empty when missing
	From, Until,
	Says string
}

// rigStandings is the answer of GET /api/v1/rig.
type rigStandings struct {
	Schema string           `json:"schema"` // boretight/standing/1
	Rigs   []bench.RigState `json:"rigs"`
}

func (s *Site) rig(w http.ResponseWriter, r *http.Request) {
	rigs := s.bench.Snapshot().Rigs
	if rigs == nil {
		rigs = []bench.RigState{}
	}
	s.answer(w, r, rigStandings{"boretight/standing/1", rigs})
}

func (s *Site) rigPart(w http.ResponseWriter, r *http.Request) {
	s.render(w, r, "rig.html", s.rigsView(s.bench.Snapshot()))
}

func (s *Site) rigsView(snapshot bench.Snapshot) rigsView {
	var view rigsView
	for _, state := range snapshot.Rigs {
		one := rigView{Parts: partsOf(state)}
		if len(snapshot.Rigs) > 1 {
			one.Gauge = state.Gauge
		}
		for _, item := range state.Known {
			known := s.knownView(item, state.Trusted)
			one.Known = append(one.Known, known)
			view.Any = view.Any || known.Figure != ""
		}
		view.Rigs = append(view.Rigs, one)
	}
	return view
}

func (s *Site) knownView(item bench.RigItem, trusted bool) knownView {
	view := knownView{Name: string(item.Kind), Word: string(item.State), Says: item.Says, Figure: s.shown().rigFigure(item)}
	switch {
	case item.Kind == rig.KindBlank && item.Sign != "":
		view.Name += " in " + item.Sign
	case item.Kind == rig.KindVolume && item.Of != "":
		view.Name += " of " + item.Of
	case item.Of != "":
		view.Name += " with " + item.Of
	}
	switch item.State {
	case rig.Holds:
		view.Class = "pass"
	case rig.Failed:
		view.Class = "fail"
		if item.Kind == rig.KindCheck && trusted {
			view.Class, view.Word = "inconclusive", "says nothing" // neither right nor wrong
		}
	case rig.Missing:
		view.Class = "none"
		return view
	default:
		view.Class = "inconclusive"
	}
	view.From, view.Until = s.shown().day(item.ValidFrom), "no date due"
	if !item.ValidUntil.IsZero() {
		view.Until = "until " + s.shown().day(item.ValidUntil)
	}
	return view
}

// rigFigure writes the figure of an item with U (k = 2), in the shop's units.
func (u shown) rigFigure(item bench.RigItem) string {
	if item.Figure == nil {
		return ""
	}
	switch f := *item.Figure; item.Kind {
	case rig.KindCalibration:
		return "span × " + statedIn(f.Value, f.U, 1, "")
	case rig.KindVolume:
		return volumeWithU(f.Value, f.U)
	case rig.KindBlank:
		return u.throughputWithU(f.Value, f.U, 0)
	case rig.KindCheck:
		return percentWithU(f.Value, f.U) + " off"
	case rig.KindProof:
		return "largest |En| " + fixed(f.Value, 2)
	}
	return ""
}

// partsOf names the parts of the rig of a gauge that have a name.
func partsOf(state bench.RigState) string {
	parts := partNames(state.Rig)
	if state.Unnamed && len(parts) > 0 {
		parts[0] += " (it gave no serial number)"
	}
	return strings.Join(parts, ", ")
}

// partNames are the parts of a rig that have a name, the gauge first.
func partNames(of rig.Identity) []string {
	var parts []string
	for _, p := range [...]struct{ name, value string }{
		{"gauge", of.Gauge}, {"hose", of.Hose}, {"stoppers", of.Stoppers}, {"valve", of.Valve},
	} {
		if p.value != "" {
			parts = append(parts, p.name+" "+p.value)
		}
	}
	return parts
}

// worthOf are the sentences on the rig of a gauge that stand beside its verdicts.
func worthOf(snapshot bench.Snapshot, gauge string) string {
	for _, state := range snapshot.Rigs {
		if state.Gauge == gauge {
			return strings.Join(state.Worth, " ")
		}
	}
	return ""
}
