package web

import (
	"cmp"
	"context"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"unicode"

	"boretight/internal/bench"
	"boretight/internal/catalog"
	"boretight/internal/rig"
)

// CatalogDesk is what pages may do with the catalog. A [Desk] that is one too is used as
// one; without it the templates are shown, and nothing can be changed.
type CatalogDesk interface {
	// Catalog returns the templates with the shop's files laid on top.
	Catalog(ctx context.Context) (catalog.Catalog, error)
	// ShopFile returns the shop's own file of an instrument.
	ShopFile(ctx context.Context, instrument string) (ShopFile, error)
	// KeepShopFile puts what change makes of the text of the shop's file in its place, if
	// the catalog then still reads: else its error holds each [*catalog.Fault]. Without a
	// text the file is taken away.
	KeepShopFile(ctx context.Context, instrument string, change func(text []byte) ([]byte, error)) error
}

// ShopFile is what a shop tells of an instrument.
type ShopFile struct {
	Path string // where it is or would be; empty: in memory, until the program ends
	Text []byte // empty: nothing is told
}

func (s *Site) catalogRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /catalog", s.catalogPage)
	mux.HandleFunc("GET /catalog/{instrument}", s.instrumentPage)
	mux.HandleFunc("GET /catalog/{instrument}/like", s.likePage)
	mux.HandleFunc("POST /catalog/{instrument}/like", s.onlyLooks(s.like))
	mux.HandleFunc("POST /catalog/{instrument}/back", s.onlyLooks(s.takeBack))
	mux.HandleFunc("GET /catalog/{instrument}/{joint}", s.catalogJointPage)
	mux.HandleFunc("GET /catalog/{instrument}/{joint}/change", s.changePage)
	mux.HandleFunc("POST /catalog/{instrument}/{joint}/change", s.onlyLooks(s.changeThing))
	mux.HandleFunc("POST /catalog/{instrument}/{joint}/without", s.onlyLooks(s.withoutThing))
}

// catalogDesk is what the catalog can be changed with; false: it can only be looked at.
func (s *Site) catalogDesk() (CatalogDesk, bool) {
	desk, ok := s.desk.(CatalogDesk)
	return desk, ok
}

// catalogNow is the catalog as it is.
func (s *Site) catalogNow(ctx context.Context) (catalog.Catalog, error) {
	if desk, ok := s.catalogDesk(); ok {
		return desk.Catalog(ctx)
	}
	return catalog.Templates()
}

// catalogView lists the instruments.
type catalogView struct {
	Frame       frame
	Instruments []instrumentLine
}

// instrumentLine is an instrument in a list.
type instrumentLine struct {
	Name, Title, System string
	Joints              []jointLine
	Own                 bool // the shop tells something of it
}

// jointLine is a joint in a list.
type jointLine struct {
	Path, Name, Title string
	What              string // "11 seats, 1 open hole, 235 mm"
}

func catalogPath(parts ...string) string {
	path := "/catalog"
	for _, p := range parts {
		path += "/" + url.PathEscape(p)
	}
	return path
}

func (s *Site) catalogPage(w http.ResponseWriter, r *http.Request) {
	known, err := s.catalogNow(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return
	}
	view := catalogView{Frame: s.frame(r, "Catalog", "/catalog", "books.css")}
	for _, i := range known.Instruments() {
		line := s.instrumentLine(i)
		if desk, ok := s.catalogDesk(); ok {
			own, err := desk.ShopFile(r.Context(), i.Name)
			if err != nil {
				s.fault(w, r, err)
				return
			}
			line.Own = len(own.Text) > 0
		}
		view.Instruments = append(view.Instruments, line)
	}
	s.render(w, r, "catalog.html", view)
}

func (s *Site) instrumentLine(i catalog.Instrument) instrumentLine {
	line := instrumentLine{Name: i.Name, Title: i.Title.Value, System: i.System.Value}
	for _, j := range i.Joints {
		var what []string
		if n := len(j.Seats); n > 0 {
			what = append(what, counting(n, "seat"))
		}
		if n := len(j.Holes); n > 0 {
			what = append(what, counting(n, "open hole"))
		}
		line.Joints = append(line.Joints, jointLine{
			catalogPath(i.Name, j.Name), j.Name, titleOf(j), strings.Join(append(what, s.shown().length(float64(j.Length()))), ", "),
		})
	}
	return line
}

func titleOf(j catalog.Joint) string { return cmp.Or(j.Title.Value, j.Name) }

// titleInFull names a joint with its instrument.
func titleInFull(i catalog.Instrument, j catalog.Joint) string {
	return i.Title.Value + ", " + withinSentence(titleOf(j))
}

// withinSentence begins a title with a small letter, unless that is a name such as C foot.
func withinSentence(title string) string {
	if len(title) < 2 || !unicode.IsLower(rune(title[1])) {
		return title
	}
	return strings.ToLower(title[:1]) + title[1:]
}

// instrumentView is an instrument with its joints and what the shop tells of it.
type instrumentView struct {
	Frame      frame
	Instrument instrumentLine
	Drawings   []template.HTML // one a joint
	Notes      []noteView
	Own        []ownView
	File       string // where the shop's own values are kept
	Memory     bool   // they end with the program
	Can        bool   // it can be changed
	Refused    *form
}

// noteView is a risk, with where it comes from.
type noteView struct{ Says, Source string }

// ownView is one thing that the shop tells of an instrument, and how it is taken back.
type ownView struct {
	Thing catalog.Thing
	What  string // `seat "G#" of upper`
	Told  string // "pad 9 mm"
}

// instrumentAsked finds the instrument of a request, or says that there is none.
func (s *Site) instrumentAsked(w http.ResponseWriter, r *http.Request) (catalog.Instrument, bool) {
	known, err := s.catalogNow(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return catalog.Instrument{}, false
	}
	i, err := known.Instrument(r.PathValue("instrument"))
	if err != nil {
		s.absent(w, r, "/catalog", "No such instrument", asSentence(err.Error()), link{"/catalog", "All instruments"})
		return i, false
	}
	return i, true
}

// jointAsked finds the joint of a request, or says that there is none.
func (s *Site) jointAsked(w http.ResponseWriter, r *http.Request) (catalog.Instrument, catalog.Joint, bool) {
	i, ok := s.instrumentAsked(w, r)
	if !ok {
		return i, catalog.Joint{}, false
	}
	j, ok := i.Joint(r.PathValue("joint"))
	if !ok {
		s.absent(w, r, "/catalog", "No such joint", "The catalog has no joint of that name of "+i.Title.Value+".", link{catalogPath(i.Name), i.Title.Value})
	}
	return i, j, ok
}

func (s *Site) instrumentPage(w http.ResponseWriter, r *http.Request) {
	if i, ok := s.instrumentAsked(w, r); ok {
		s.renderInstrument(w, r, http.StatusOK, i, &form{})
	}
}

func (s *Site) renderInstrument(w http.ResponseWriter, r *http.Request, status int, i catalog.Instrument, refused *form) {
	view := instrumentView{Frame: s.frame(r, i.Title.Value, "/catalog", "books.css"), Instrument: s.instrumentLine(i), Notes: notesOf(i.Notes), Refused: refused}
	view.Frame.Back = &link{"/catalog", "Catalog"}
	for n, j := range i.Joints {
		view.Drawings = append(view.Drawings, s.drawJoint(j, drawing{ID: "joint-" + plain(float64(n))}))
	}
	if err := s.tellOwn(r.Context(), i.Name, &view); err != nil {
		s.fault(w, r, err)
		return
	}
	s.renderAs(w, r, status, "cataloginstrument.html", view)
}

// tellOwn fills in what the shop itself tells.
func (s *Site) tellOwn(ctx context.Context, instrument string, view *instrumentView) error {
	desk, ok := s.catalogDesk()
	if !ok {
		return nil
	}
	own, err := desk.ShopFile(ctx, instrument)
	if err != nil {
		return err
	}
	view.Can, view.File, view.Memory = true, own.Path, own.Path == ""
	told, err := catalog.Amendments(own.Text)
	if err != nil {
		view.Refused.Whole = asSentence(err.Error())
		return nil
	}
	for _, a := range told {
		view.Own = append(view.Own, ownView{a.Thing, thingWords(a.Thing), toldWords(a.Told)})
	}
	return nil
}

// thingWords name a thing for people.
func thingWords(t catalog.Thing) string {
	switch t.Kind {
	case catalog.KindBore:
		return "bore of " + t.Joint
	case catalog.KindWithout:
		return t.Joint + " has no " + t.Name
	}
	return t.Kind + " " + t.Name + " of " + t.Joint
}

func toldWords(told map[string]string) string {
	var all []string
	for _, key := range slices.Sorted(maps.Keys(told)) {
		all = append(all, strings.ReplaceAll(key, "-", " ")+" "+told[key])
	}
	return strings.Join(all, ", ")
}

func notesOf(lists ...[]catalog.Word) []noteView {
	var all []noteView
	for _, notes := range lists {
		for _, n := range notes {
			all = append(all, noteView{n.Value, n.Source.String()})
		}
	}
	return all
}

// jointView is a joint with all that is known of it.
type jointView struct {
	Frame      frame
	Name       string // INSTRUMENT/JOINT
	Path       string
	System     string
	Drawing    template.HTML
	Narrow     template.HTML
	Length     string
	Volume     string // "12.3 ± 3.7 ml"
	Heat       string
	Measured   []measuredVolume
	Command    string // that measures the volume
	Closure    []doView
	Tables     []tableView
	Notes      []noteView
	Can        bool
	File       string
	Memory     bool
	Limits     []string // the shop's limits of it
	LimitsPath string
}

// measuredVolume is a volume on record of the joint.
type measuredVolume struct{ ID, Of, Figure, By, Day string }

// doView is one thing to do to close a joint.
type doView struct{ Do, What string }

func (s *Site) catalogJointPage(w http.ResponseWriter, r *http.Request) {
	i, j, ok := s.jointAsked(w, r)
	if !ok {
		return
	}
	name := i.Name + "/" + j.Name
	view := jointView{
		Frame: s.frame(r, titleInFull(i, j), "/catalog", "books.css"), Name: name, Path: catalogPath(i.Name, j.Name),
		System: i.System.Value, Length: s.shown().length(float64(j.Length())), Heat: s.shown().length(float64(j.HeatDiameter())),
		Drawing: s.drawJoint(j, drawing{ID: "joint", Words: true}), Narrow: s.drawJoint(j, drawing{ID: "narrow", Upright: true}),
		Closure: closureOf(j), Tables: s.tablesOf(i, j), Notes: notesOf(i.Notes, j.Notes),
		Command:    "boretight rig volume --joint " + name + " --gauge " + gaugeForCommand(s.bench.Snapshot()) + " --syringe 0.2ml --syringe-u 0.5%",
		LimitsPath: "/limits?joint=" + url.QueryEscape(name),
	}
	view.Frame.Back = &link{catalogPath(i.Name), i.Title.Value}
	if v, err := j.Volume(); err == nil {
		view.Volume = volumeFigure(v.Measured)
	}
	if desk, ok := s.catalogDesk(); ok {
		own, err := desk.ShopFile(r.Context(), i.Name)
		if err != nil {
			s.fault(w, r, err)
			return
		}
		view.Can, view.File, view.Memory = true, own.Path, own.Path == ""
	}
	records, err := s.rigRecords(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return
	}
	for _, v := range newestVolumes(records) {
		if v.Joint == name || strings.HasPrefix(v.Joint, name+", ") {
			view.Measured = append(view.Measured, measuredVolume{v.ID, v.Joint, volumeFigure(v.Volume.Measured), string(v.Volume.Method), s.shown().day(v.ValidFrom)})
		}
	}
	limits, err := s.limitsNow(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return
	}
	for _, l := range limits {
		if l.Joint == name {
			view.Limits = append(view.Limits, s.limitWords(l))
		}
	}
	s.render(w, r, "catalogjoint.html", view)
}

// volumeFigure writes a volume with U (k = 2).
func volumeFigure(v rig.Measured) string { return volumeWithU(v.Value, v.U) }

// gaugeForCommand is the address of the bench's gauge, for a command to type.
func gaugeForCommand(snapshot bench.Snapshot) string {
	if len(snapshot.Gauges) > 0 && snapshot.Gauges[0].Address != "" {
		return quotedForCommand(snapshot.Gauges[0].Address)
	}
	return "ADDRESS"
}

// quotedForCommand is a word of a command, in quotes where a shell would take a part of it,
// such as the & of serial:COM5?baud=9600&dialect=text, for its own.
func quotedForCommand(word string) string {
	if strings.ContainsAny(word, " &?*;()'$|<>#") {
		return `"` + word + `"`
	}
	return word
}

func closureOf(j catalog.Joint) []doView {
	c := j.DefaultClosure()
	var all []doView
	for _, d := range []struct {
		do   string
		what []string
	}{{"Stopper", c.Stopper}, {"Plug", c.Plug}, {"Press", c.Press}, {"Leave to their springs", c.Rest}} {
		if len(d.what) > 0 {
			all = append(all, doView{d.do, strings.Join(d.what, ", ")})
		}
	}
	return all
}
