package web

import (
	"cmp"
	"context"
	"errors"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"boretight/internal/bench"
	"boretight/internal/quantity"
)

// SetupDesk is what pages may do with the settings of the shop. A [Desk] that is one too is
// used as one.
type SetupDesk interface {
	// Settings returns what is set up.
	Settings(ctx context.Context) (Settings, error)
	// ChangeSettings gives keys of the settings file other values; an empty one takes the
	// key out. The bench then begins anew. Nothing is changed when anything is refused.
	ChangeSettings(ctx context.Context, values map[string]string) error
	// FindGauges begins to look for gauges at all ports, unless that is going on.
	FindGauges(ctx context.Context) error
	// Search returns what the search has found up to now.
	Search() Search
	// UseGauge adds a gauge under a name to those of the bench; a simulated one gives way.
	UseGauge(ctx context.Context, name, address string) error
	// DropGauge takes one away again.
	DropGauge(ctx context.Context, name string) error
}

// Settings is what is set up.
type Settings struct {
	// Values by key of the settings file, such as shop.name or measure.ambient.
	Values map[string]string
	// Over says of keys what on the command line or in the environment counts more than
	// the file, such as "--ambient": a change of the file has no effect while it does.
	Over map[string]string
	// File is where settings are kept; empty: in memory, until the program ends.
	File string
	// Simulated tells that the bench is a simulated one.
	Simulated bool
	Reach     Reach
}

// Reach is how others in the shop come to the page. The zero Reach is a page that only this
// machine can reach.
type Reach struct {
	// Addresses with the token, the likeliest first.
	Addresses []string
	// Fingerprint of the certificate, SHA-256; Own tells that nobody vouches for it.
	Fingerprint string
	Own         bool
}

// Search is what a search for gauges has found up to now.
type Search struct {
	Going bool
	Began time.Time // zero: there was none
	Found []FoundPort
	// Problem says why there is no list of ports.
	Problem string
}

// FoundPort is what was heard at a port.
type FoundPort struct {
	Port    string // as the system calls it
	What    string // what it is, such as an adapter's name
	Heard   string // "gauge", "nothing" and so on
	Says    string // a sentence: what is in the way and what to do
	Serial  string // of a gauge
	Address string // to use it by; empty: it cannot be
}

func (s *Site) setupRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /setup", s.setupPage)
	mux.HandleFunc("POST /setup/change", s.onlyLooks(s.changeSetup))
	mux.HandleFunc("GET /setup/find", s.findPage)
	mux.HandleFunc("POST /setup/find", s.onlyLooks(s.findGauges))
	mux.HandleFunc("POST /setup/use", s.onlyLooks(s.useGauge))
	mux.HandleFunc("POST /setup/drop", s.onlyLooks(s.dropGauge))
	mux.HandleFunc("GET /setup/build", s.buildPage)
}

func (s *Site) setupDesk() (SetupDesk, bool) {
	desk, ok := s.desk.(SetupDesk)
	return desk, ok
}

// setupKeys are the keys of each part of the set-up.
var setupKeys = map[string][]string{
	"shop":  {"shop.name", "shop.address"},
	"units": {"shop.pressure-unit", "shop.flow-unit", "shop.length-unit", "shop.time-zone", "shop.holds"},
	"rig":   {"rig.hose", "rig.stoppers", "rig.valve"},
	"room":  {"measure.ambient", "measure.temperature"},
}

// setupView is the page of the set-up.
type setupView struct {
	Frame     frame
	Can       bool
	Form      *form
	Part      string // the one that was refused
	Gauges    []setGauge
	Simulated bool
	File      string
	Memory    bool
	Over      []overView
	Pressures []choice
	Flows     []choice
	Lengths   []choice
	Reach     Reach
	QR        template.HTML
}

// setGauge is a gauge of the bench.
type setGauge struct {
	Name, Address, Word, Class string
	Says                       string
	Droppable                  bool
}

// overView is a key that something other than the file decides.
type overView struct{ What, By string }

func choicesOf[T interface{ Symbol() string }](all []T) []choice {
	choices := make([]choice, len(all))
	for n, u := range all {
		choices[n] = choice{u.Symbol(), u.Symbol()}
	}
	return choices
}

func (s *Site) setupPage(w http.ResponseWriter, r *http.Request) {
	desk, can := s.setupDesk()
	if !can {
		s.renderSetup(w, r, http.StatusOK, Settings{}, newForm(), "")
		return
	}
	now, err := desk.Settings(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return
	}
	s.renderSetup(w, r, http.StatusOK, now, formOf(now), "")
}

// formOf is a form filled in with what is set up.
func formOf(now Settings) *form {
	f := newForm()
	for key, value := range now.Values {
		f.values.Set(key, value)
	}
	return f
}

func (s *Site) renderSetup(w http.ResponseWriter, r *http.Request, status int, now Settings, f *form, part string) {
	_, can := s.setupDesk()
	view := setupView{
		Frame: s.frame(r, "Set-up", "/setup", "books.css"), Can: can, Form: f, Part: part,
		Simulated: now.Simulated, File: now.File, Memory: now.File == "",
		Pressures: choicesOf(quantity.PressureUnits()), Flows: choicesOf(quantity.FlowUnits()), Lengths: choicesOf(quantity.LengthUnits()),
		Reach: now.Reach,
	}
	for _, keys := range [][]string{{"gauges"}, setupKeys["shop"], setupKeys["units"], setupKeys["rig"], setupKeys["room"]} {
		for _, key := range keys {
			if by := now.Over[key]; by != "" {
				view.Over = append(view.Over, overView{overWords(key), by})
			}
		}
	}
	for _, g := range s.bench.Snapshot().Gauges {
		view.Gauges = append(view.Gauges, setGaugeOf(g, now.Over["gauges"] == "" && !now.Simulated))
	}
	if len(now.Reach.Addresses) > 0 {
		code, err := qrCode(now.Reach.Addresses[0])
		if err != nil {
			s.fault(w, r, err)
			return
		}
		view.QR = code
	}
	s.renderAs(w, r, status, "setup.html", view)
}

// overWords name a key for people.
func overWords(key string) string {
	_, name, ok := strings.Cut(key, ".")
	if !ok {
		name = key
	}
	return strings.ReplaceAll(name, "-", " ")
}

func setGaugeOf(g bench.GaugeState, droppable bool) setGauge {
	view := setGauge{Name: g.Name, Address: g.Address, Word: "heard", Class: "pass", Says: g.Problem, Droppable: droppable}
	if g.Serial != "" {
		view.Word = "heard: " + g.Serial
	}
	if !g.Up {
		view.Word, view.Class = "silent", "fail"
	}
	return view
}

// changeSetup changes one part of the set-up.
func (s *Site) changeSetup(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	desk, can := s.setupDesk()
	keys, known := setupKeys[f.Value("part")]
	if !can || !known {
		s.notDone(w, r, "This cannot be changed here.")
		return
	}
	now, err := desk.Settings(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return
	}
	values := map[string]string{}
	for _, key := range keys {
		if value := s.settingTyped(key, f.Value(key)); value != now.Values[key] {
			values[key] = value
		}
	}
	if busy := s.anyInHold(); busy != "" && !now.Simulated {
		err = &Fault{Says: busy}
	} else if len(values) > 0 {
		err = desk.ChangeSettings(r.Context(), values)
	}
	if err != nil && !f.refuse(err) {
		s.fault(w, r, err)
		return
	}
	if f.Any() {
		whole := formOf(now)
		for _, key := range keys {
			whole.values.Set(key, f.Value(key))
		}
		whole.faults, whole.Whole = f.faults, f.Whole
		s.renderSetup(w, r, http.StatusUnprocessableEntity, now, whole, f.Value("part"))
		return
	}
	http.Redirect(w, r, "/setup#set-"+f.Value("part"), http.StatusSeeOther)
}

// settingTyped is a value of a key as the file has it: a bare number gets its unit.
func (s *Site) settingTyped(key, text string) string {
	switch key {
	case "measure.ambient":
		if p, err := quantity.ParsePressureIn(text, s.shown().units.Pressure); err == nil {
			if strings.Contains(text, ",") {
				return p.String()
			}
			return withUnit(text, s.shown().units.Pressure.Symbol())
		}
	case "measure.temperature":
		return withUnit(strings.Replace(text, ",", ".", 1), "°C")
	case "shop.address":
		return strings.ReplaceAll(text, "\r\n", "\n")
	}
	return text
}

// anyInHold says that a hold is going on, which a change of the settings would end.
func (s *Site) anyInHold() string {
	for _, g := range s.bench.Snapshot().Gauges {
		if g.Phase == "drawing" || g.Phase == "settling" || g.Phase == "holding" {
			return "In the middle of a hold nothing is changed: vent first."
		}
	}
	return ""
}

// findView is the page of the search for gauges.
type findView struct {
	Frame  frame
	Can    bool
	Search Search
	Gauges []FoundPort // that can be used
	Others []FoundPort
	Form   *form
	Names  map[string]string // proposed, by address
	Memory bool
	File   string
}

// refreshEvery is how soon a page without script asks again while a search goes on.
const refreshEvery = "2"

func (s *Site) findPage(w http.ResponseWriter, r *http.Request) {
	s.renderFind(w, r, http.StatusOK, newForm())
}

func (s *Site) renderFind(w http.ResponseWriter, r *http.Request, status int, f *form) {
	view := findView{Frame: s.frame(r, "Find a gauge", "/setup", "books.css"), Form: f, Names: map[string]string{}}
	view.Frame.Back = &link{"/setup", "Set-up"}
	if desk, can := s.setupDesk(); can {
		now, err := desk.Settings(r.Context())
		if err != nil {
			s.fault(w, r, err)
			return
		}
		view.Can, view.Search, view.File, view.Memory = true, desk.Search(), now.File, now.File == ""
	}
	for n, p := range view.Search.Found {
		if p.Address == "" {
			view.Others = append(view.Others, p)
			continue
		}
		view.Gauges = append(view.Gauges, p)
		view.Names[p.Address] = "bench"
		if n > 0 || len(view.Gauges) > 1 {
			view.Names[p.Address] = strings.ToLower(p.Serial)
		}
		if f.Value("address") == p.Address {
			view.Names[p.Address] = f.Value("name")
		}
	}
	if view.Search.Going {
		w.Header().Set("Refresh", refreshEvery+"; url=/setup/find")
	}
	s.renderAs(w, r, status, "setupfind.html", view)
}

func (s *Site) findGauges(w http.ResponseWriter, r *http.Request) {
	desk, can := s.setupDesk()
	if !can {
		s.notDone(w, r, "This program cannot look for gauges.")
		return
	}
	s.answerForm(w, r, desk.FindGauges(r.Context()), "/setup/find")
}

// useGauge adds a gauge that was found.
func (s *Site) useGauge(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	desk, can := s.setupDesk()
	if !can {
		s.notDone(w, r, "Gauges cannot be set up here.")
		return
	}
	now, err := desk.Settings(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return
	}
	name, address := cmp.Or(f.Value("typedname"), f.Value("name")), f.Value("address")
	found := desk.Search().Found
	switch {
	case f.values.Has("typed"):
		address = f.Value("typed")
		// Nothing else: who reaches the page must not have the program read its files.
		if !strings.HasPrefix(address, "serial:") && !strings.HasPrefix(address, "tcp:") {
			f.fault("typed", "Say where the gauge is, such as serial:COM5 or tcp:192.168.1.9:4001.")
		}
		if name == "" {
			f.fault("typedname", "Give it a name, such as bench or upper.")
		}
	case !slices.ContainsFunc(found, func(p FoundPort) bool { return p.Address == address && address != "" }):
		f.Whole = "No gauge was found at that address: look again."
	case name == "":
		f.fault("name", "Give it a name, such as bench or upper.")
	}
	if busy := s.anyInHold(); busy != "" && !now.Simulated {
		f.Whole = busy
	} else if !f.Any() {
		err = desk.UseGauge(r.Context(), name, address)
	}
	if fault := (*Fault)(nil); errors.As(err, &fault) && f.values.Has("typed") {
		err = &Fault{Field: "typed", Says: fault.Says}
	}
	if err != nil && !f.refuse(err) {
		s.fault(w, r, err)
		return
	}
	if f.Any() {
		s.renderFind(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	http.Redirect(w, r, "/setup#set-gauges", http.StatusSeeOther)
}

// dropGauge takes a gauge off the bench.
func (s *Site) dropGauge(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	desk, can := s.setupDesk()
	if !can {
		s.notDone(w, r, "Gauges cannot be set up here.")
		return
	}
	var err error
	if busy := s.anyInHold(); busy != "" {
		err = &Fault{Says: busy}
	} else {
		err = desk.DropGauge(r.Context(), f.Value("name"))
	}
	s.answerForm(w, r, err, "/setup#set-gauges")
}

// buildPage says how a gauge is built.
func (s *Site) buildPage(w http.ResponseWriter, r *http.Request) {
	view := struct {
		Frame          frame
		Range, TooHigh string
	}{s.frame(r, "Build a gauge", "/setup", "books.css"), s.shown().pressure(7500), s.shown().roughly(hardLimit)}
	view.Frame.Back = &link{"/setup", "Set-up"}
	s.render(w, r, "setupbuild.html", view)
}
