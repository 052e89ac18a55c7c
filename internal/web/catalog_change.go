package web

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"boretight/internal/catalog"
)

// changeView is the page on which one thing of a joint is told.
type changeView struct {
	Frame   frame
	Form    *form
	Thing   string // "seat G#"
	New     bool
	Kind    string
	Name    string // of the thing as it is; empty: a new one
	Joint   string
	Path    string // of the joint
	Fields  []fieldView
	Pieces  [][]fieldView // of a bore
	Moves   []choice
	Source  fieldView
	File    string
	Memory  bool
	Heading string
	Own     string // what the shop told of it; empty: nothing
	Back    string // where that is taken back
	OfJoint string // the joint as commands name it
}

// changeKey is a key of a thing as its form asks for it.
type changeKey struct {
	key, label, hint string
	length           bool
	choices          []string
}

var changeKeys = map[string][]changeKey{
	catalog.KindSeat: {
		{key: "at", label: "Position", hint: "Along the bore from the player’s end to the middle of the hole", length: true},
		{key: "hole", label: "Tone hole, diameter", length: true},
		{key: "land", label: "Land", hint: "Width of the rim that the pad closes on", length: true},
		{key: "pad", label: "Pad, diameter", length: true},
		{key: "pad-kind", label: "Kind of pad", choices: catalog.PadKinds()},
		{key: "hinge", label: "Hinge", hint: "From the hole’s near rim back to the axis that the key turns on", length: true},
		{key: "stands", label: "At rest it stands", choices: []string{catalog.Closed, catalog.Open}},
		{key: "key", label: "Finger or key that works it", hint: "Such as left little finger, G# key"},
		{key: "reach", label: "Reach", hint: "The hand that reaches it: seats of one reach may be worked at once"},
	},
	catalog.KindHole: {
		{key: "at", label: "Position", hint: "Along the bore from the player’s end", length: true},
		{key: "diameter", label: "Diameter", length: true},
		{key: "finger", label: "Finger that stops it", hint: "Such as left 1"},
	},
	catalog.KindEnd: {
		{key: "at", label: "Position", hint: "Along the bore from the player’s end", length: true},
		{key: "closed-by", label: "Closed by", hint: "stopper, or what closes it by itself, such as cork"},
	},
	catalog.KindSection: {
		{key: "from", label: "From", hint: "Position along the bore", length: true},
		{key: "to", label: "To", length: true},
	},
}

// thingAsked is the thing that a request names, with what is known of it by key. New tells
// that the joint has none of the name.
func (s *Site) thingAsked(r *http.Request, j catalog.Joint) (of catalog.Thing, known map[string]string, ok bool) {
	of = catalog.Thing{Joint: j.Name, Kind: r.FormValue("kind"), Name: r.FormValue("name")}
	if of.Kind == catalog.KindBore {
		return of, s.boreKnown(j), true
	}
	if _, ok = changeKeys[of.Kind]; !ok {
		return of, nil, false
	}
	return of, s.valuesOf(j, of), true
}

// valuesOf are the values of a thing by key, as a form shows them; nil: there is none.
func (s *Site) valuesOf(j catalog.Joint, of catalog.Thing) map[string]string {
	l := func(told catalog.Length) string { return s.shown().length(float64(told.Value)) }
	switch of.Kind {
	case catalog.KindSeat:
		for _, x := range j.Seats {
			if x.Name == of.Name {
				return map[string]string{"at": l(x.At), "hole": l(x.Hole), "land": l(x.Land), "pad": l(x.Pad), "pad-kind": x.PadKind.Value,
					"hinge": l(x.Hinge), "stands": x.Stands.Value, "key": x.Key.Value, "reach": x.Reach.Value, "can": strings.Join(x.Can.Value, ", ")}
			}
		}
	case catalog.KindHole:
		for _, x := range j.Holes {
			if x.Name == of.Name {
				return map[string]string{"at": l(x.At), "diameter": l(x.Diameter), "finger": x.Finger.Value}
			}
		}
	case catalog.KindEnd:
		for _, x := range j.Ends {
			if x.Name == of.Name {
				return map[string]string{"at": l(x.At), "closed-by": x.ClosedBy.Value}
			}
		}
	case catalog.KindSection:
		for _, x := range j.Sections {
			if x.Name == of.Name {
				return map[string]string{"from": l(x.From), "to": l(x.To)}
			}
		}
	}
	return nil
}

// boreKeys are the keys of a piece of bore.
var boreKeys = []changeKey{
	{key: "length", label: "length", length: true},
	{key: "from", label: "from diameter", length: true},
	{key: "to", label: "to diameter", length: true},
}

func boreField(n int, key string) string { return fmt.Sprintf("%d %s", n, key) }

func (s *Site) boreKnown(j catalog.Joint) map[string]string {
	known := map[string]string{}
	for n, p := range j.Bore {
		for key, l := range map[string]catalog.Length{"length": p.Length, "from": p.From, "to": p.To} {
			known[boreField(n+1, key)] = s.shown().length(float64(l.Value))
		}
	}
	return known
}

func (s *Site) changePage(w http.ResponseWriter, r *http.Request) {
	i, j, ok := s.jointAsked(w, r)
	if !ok {
		return
	}
	if _, can := s.catalogDesk(); !can {
		s.absent(w, r, "/catalog", "Nothing can be changed here", "The program was started without what it would change.", link{catalogPath(i.Name, j.Name), titleOf(j)})
		return
	}
	of, known, ok := s.thingAsked(r, j)
	if !ok || of.Name != "" && known == nil {
		s.absent(w, r, "/catalog", "No such thing", "The joint has nothing of that kind and name.", link{catalogPath(i.Name, j.Name), titleOf(j)})
		return
	}
	f := newForm("name", of.Name)
	for key, value := range known {
		f.values.Set(key, value)
	}
	for _, move := range strings.Split(known["can"], ", ") {
		f.values.Add("moves", move)
	}
	if known == nil {
		f.values["moves"] = catalog.Moves()
		f.values.Set("stands", catalog.Closed)
	}
	s.renderChange(w, r, http.StatusOK, i, j, of, f)
}

func (s *Site) renderChange(w http.ResponseWriter, r *http.Request, status int, i catalog.Instrument, j catalog.Joint, of catalog.Thing, f *form) {
	desk, _ := s.catalogDesk()
	own, err := desk.ShopFile(r.Context(), i.Name)
	if err != nil {
		s.fault(w, r, err)
		return
	}
	view := changeView{
		Frame: s.frame(r, "Change", "/catalog", "books.css"), Form: f, Kind: of.Kind, Name: of.Name, New: of.Name == "" && of.Kind != catalog.KindBore,
		Joint: withinSentence(titleOf(j)), Path: catalogPath(i.Name, j.Name), File: own.Path, Memory: own.Path == "",
		Own: toldByShop(own, of), Back: catalogPath(i.Name) + "/back", OfJoint: j.Name,
	}
	view.Frame.Back = &link{view.Path, titleInFull(i, j)}
	view.Heading = strings.TrimSpace(capital(of.Kind) + " " + of.Name)
	switch {
	case of.Kind == catalog.KindBore:
		view.Heading = "Bore"
	case view.New:
		view.Heading = "A new " + of.Kind
		if of.Kind == catalog.KindHole {
			view.Heading = "A new open hole"
		}
	}
	view.Frame.Title = view.Heading
	if of.Kind == catalog.KindBore {
		for n := range len(j.Bore) + 1 {
			var piece []fieldView
			for _, k := range boreKeys {
				v := field(f, boreField(n+1, k.key), "Piece "+plain(float64(n+1))+", "+k.label)
				v.ID = fmt.Sprintf("field-%d-%s", n+1, k.key) // an id has no space
				piece = append(piece, v)
			}
			view.Pieces = append(view.Pieces, piece)
		}
	}
	for _, k := range changeKeys[of.Kind] {
		traits := []string{"hint=" + k.hint}
		if k.choices == nil {
			view.Fields = append(view.Fields, field(f, k.key, k.label, traits...))
			continue
		}
		choices := []choice{}
		for _, c := range k.choices {
			choices = append(choices, choice{c, c})
		}
		view.Fields = append(view.Fields, chosen(f, k.key, k.label, choices, traits...))
	}
	if of.Kind == catalog.KindSeat {
		for _, m := range catalog.Moves() {
			view.Moves = append(view.Moves, choice{m, moveWords[m]})
		}
	}
	view.Source = field(f, "source", "Where it was published", "hint=Leave it empty for what the shop measured itself")
	s.renderAs(w, r, status, "catalogchange.html", view)
}

// toldByShop is what a shop's file tells of a thing, in words. A file that cannot be read is
// told of on the page of its instrument.
func toldByShop(own ShopFile, of catalog.Thing) string {
	told, err := catalog.Amendments(own.Text)
	if err != nil {
		return ""
	}
	for _, a := range told {
		if a.Thing == of {
			return toldWords(a.Told)
		}
	}
	return ""
}

// changeThing tells something of a joint anew. What was not changed in the form keeps its
// value and its source.
func (s *Site) changeThing(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	i, j, ok := s.jointAsked(w, r)
	if !ok {
		return
	}
	desk, can := s.catalogDesk()
	of, known, ok := s.thingAsked(r, j)
	if !can || !ok {
		s.notDone(w, r, "This cannot be changed here.")
		return
	}
	fresh := r.PostForm.Get("new") != ""
	switch {
	case fresh && of.Name == "" && of.Kind != catalog.KindBore:
		f.fault("name", "Give it a name, as the trade says it.")
	case fresh && known != nil && of.Kind != catalog.KindBore:
		f.fault("name", "The joint has one of that name already.")
	case !fresh && known == nil:
		f.Whole = "The joint no longer has it."
	}
	told := s.toldOf(f, j, of, known)
	if !f.Any() && len(told) > 0 {
		err := desk.KeepShopFile(r.Context(), i.Name, func(text []byte) ([]byte, error) {
			return catalog.Amend(text, i.Name, of, told, f.Value("source"))
		})
		if err != nil && !f.refuseCatalog(err, of) && !f.refuse(err) {
			s.fault(w, r, err)
			return
		}
	}
	if f.Any() {
		if fresh {
			of.Name = ""
		}
		s.renderChange(w, r, http.StatusUnprocessableEntity, i, j, of, f)
		return
	}
	http.Redirect(w, r, catalogPath(i.Name, j.Name)+"#"+of.Kind+"-"+idOf(of.Name), http.StatusSeeOther)
}

// toldOf is what a form tells that is not known already.
func (s *Site) toldOf(f *form, j catalog.Joint, of catalog.Thing, known map[string]string) map[string]string {
	told := map[string]string{}
	if of.Kind == catalog.KindBore {
		return s.boreTold(f, j, known)
	}
	for _, k := range changeKeys[of.Kind] {
		value := f.Value(k.key)
		if k.length {
			value = s.typedLength(value)
		}
		if value == known[k.key] {
			continue
		}
		if value == "" && known[k.key] != "" {
			f.fault(k.key, "Say what it is; to have what the template says, take the change back instead.")
			continue
		}
		told[k.key] = value
	}
	if of.Kind == catalog.KindSeat {
		if can := strings.Join(f.All("moves"), ", "); can != known["can"] {
			told["can"] = can
		}
	}
	return told
}

// boreTold is the whole bore, if anything of it is changed: what is not keeps its source.
func (s *Site) boreTold(f *form, j catalog.Joint, known map[string]string) map[string]string {
	told, changed := map[string]string{}, false
	for n := range len(j.Bore) + 1 {
		for _, k := range boreKeys {
			name := boreField(n+1, k.key)
			value := s.typedLength(f.Value(name))
			if value == known[name] {
				if n < len(j.Bore) {
					value = withSource(j.Bore[n], k.key)
				}
			} else {
				changed = true
			}
			told[name] = value
		}
	}
	if !changed {
		return nil
	}
	return told
}

// withSource is a length of a piece as a file has it, exactly and with its source. What was
// published loses the name of its source here and counts as a starting value: a file knows
// its own sources only.
func withSource(p catalog.Piece, key string) string {
	l := map[string]catalog.Length{"length": p.Length, "from": p.From, "to": p.To}[key]
	text, err := l.Value.MarshalText()
	if err != nil {
		return l.Value.String()
	}
	if l.Source.Kind == catalog.Shop {
		return string(text) + " [shop]"
	}
	return string(text) + " [starting value]"
}

// refuseCatalog takes over the catalog's own faults: what is of the thing that was told
// goes beside its field. It reports false of any other error.
func (f *form) refuseCatalog(err error, of catalog.Thing) bool {
	faults := catalogFaults(err)
	for _, fault := range faults {
		key := fault.Path[strings.LastIndex(fault.Path, ".")+1:]
		text := asSentence(fault.Text)
		mine := strings.HasPrefix(fault.Text, key+": ") || strings.HasPrefix(fault.Text, of.Kind+` "`+of.Name+`"`)
		switch piece := pieceOf(fault.Path); {
		case of.Kind == catalog.KindBore && piece > 0 && mineOfBore(key):
			f.fault(boreField(piece, key), text)
		case mine && key == "can":
			f.fault("moves", text)
		case mine && slices.ContainsFunc(changeKeys[of.Kind], func(k changeKey) bool { return k.key == key }):
			f.fault(key, text)
		case mine && strings.HasPrefix(fault.Text, of.Kind+` "`+of.Name+`": want a name`):
			f.fault("name", text)
		default:
			f.Whole = strings.TrimSpace(f.Whole + " " + text)
		}
	}
	return len(faults) > 0
}

func mineOfBore(key string) bool {
	return slices.ContainsFunc(boreKeys, func(k changeKey) bool { return k.key == key })
}

// pieceOf is the number, from 1, of the piece of bore that a path is of; 0 of none.
func pieceOf(path string) int {
	_, rest, ok := strings.Cut(path, ".bore[")
	var n int
	if _, err := fmt.Sscanf(rest, "%d", &n); !ok || err != nil {
		return 0
	}
	return n + 1
}

// catalogFaults are all faults of a catalog's file in an error.
func catalogFaults(err error) []*catalog.Fault {
	switch e := err.(type) {
	case nil:
		return nil
	case *catalog.Fault:
		return []*catalog.Fault{e}
	case interface{ Unwrap() []error }:
		var all []*catalog.Fault
		for _, one := range e.Unwrap() {
			all = append(all, catalogFaults(one)...)
		}
		return all
	}
	return catalogFaults(errors.Unwrap(err))
}

// withoutThing says that the shop's instruments lack something.
func (s *Site) withoutThing(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	i, j, ok := s.jointAsked(w, r)
	if !ok {
		return
	}
	of := catalog.Thing{Joint: j.Name, Kind: catalog.KindWithout, Name: f.Value("name")}
	own := false // a thing that only the shop's file has is taken out of it
	s.keepThing(w, r, i, catalogPath(i.Name, j.Name), func(text []byte) ([]byte, error) {
		own = s.onlyOwn(i.Name, j.Name, f.Value("kind"), of.Name)
		if own {
			return catalog.Withdraw(text, catalog.Thing{Joint: j.Name, Kind: f.Value("kind"), Name: of.Name})
		}
		return catalog.Amend(text, i.Name, of, nil, "")
	})
}

// onlyOwn reports whether no template has a thing.
func (s *Site) onlyOwn(instrument, joint, kind, name string) bool {
	known, err := catalog.Templates()
	if err != nil {
		return false
	}
	i, err := known.Instrument(instrument)
	if err != nil {
		return false // a copy: what it is like may have it
	}
	j, _ := i.Joint(joint)
	return s.valuesOf(j, catalog.Thing{Joint: joint, Kind: kind, Name: name}) == nil
}

// takeBack takes one thing that the shop told back.
func (s *Site) takeBack(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	i, ok := s.instrumentAsked(w, r)
	if !ok {
		return
	}
	of := catalog.Thing{Joint: f.Value("joint"), Kind: f.Value("kind"), Name: f.Value("name")}
	to := catalogPath(i.Name) + "#own"
	if _, has := i.Joint(of.Joint); has && f.Value("from") == "joint" { // where it was asked
		to = catalogPath(i.Name, of.Joint) + "#" + of.Kind + "-" + idOf(of.Name)
	}
	s.keepThing(w, r, i, to, func(text []byte) ([]byte, error) { return catalog.Withdraw(text, of) })
}

// keepThing changes the shop's file of an instrument and goes to a page, or says on that of
// the instrument why not.
func (s *Site) keepThing(w http.ResponseWriter, r *http.Request, i catalog.Instrument, to string, change func([]byte) ([]byte, error)) {
	desk, ok := s.catalogDesk()
	if !ok {
		s.notDone(w, r, "The catalog cannot be changed here.")
		return
	}
	err := desk.KeepShopFile(r.Context(), i.Name, change)
	if err == nil {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	f := &form{}
	if !f.refuseCatalog(err, catalog.Thing{}) && !f.refuse(err) {
		f.Whole = asSentence(err.Error())
	}
	s.renderInstrument(w, r, http.StatusUnprocessableEntity, i, f)
}

// likeView is the page on which a new instrument begins.
type likeView struct {
	Frame frame
	Form  *form
	Of    string
}

func (s *Site) likePage(w http.ResponseWriter, r *http.Request) {
	if i, ok := s.instrumentAsked(w, r); ok {
		s.renderLike(w, r, http.StatusOK, i, newForm("title", i.Title.Value, "system", i.System.Value))
	}
}

func (s *Site) renderLike(w http.ResponseWriter, r *http.Request, status int, i catalog.Instrument, f *form) {
	view := likeView{Frame: s.frame(r, "A new instrument like "+i.Title.Value, "/catalog", "books.css"), Form: f, Of: catalogPath(i.Name)}
	view.Frame.Back = &link{catalogPath(i.Name), i.Title.Value}
	s.renderAs(w, r, status, "cataloglike.html", view)
}

// like begins a new instrument as a copy of another.
func (s *Site) like(w http.ResponseWriter, r *http.Request) {
	f := sent(r)
	i, ok := s.instrumentAsked(w, r)
	if !ok {
		return
	}
	desk, can := s.catalogDesk()
	if !can {
		s.notDone(w, r, "The catalog cannot be changed here.")
		return
	}
	known, err := desk.Catalog(r.Context())
	if err != nil {
		s.fault(w, r, err)
		return
	}
	name := f.Value("name")
	switch _, err := known.Instrument(name); {
	case name == "":
		f.fault("name", "Give it a short name, such as oboe-1950.")
	case err == nil:
		f.fault("name", "There is an instrument of that name already.")
	case name != url.PathEscape(name):
		f.fault("name", "Use letters, digits and - only: the name stands in commands and labels.")
	}
	if !f.Any() {
		title, system := f.Value("title"), f.Value("system")
		if title == i.Title.Value {
			title = cmp.Or(title, name) + " (" + name + ")"
		}
		err := desk.KeepShopFile(r.Context(), name, func(text []byte) ([]byte, error) {
			return catalog.Begin(name, i.Name, title, system)
		})
		if err != nil && !f.refuseLike(err) {
			s.fault(w, r, err)
			return
		}
	}
	if f.Any() {
		s.renderLike(w, r, http.StatusUnprocessableEntity, i, f)
		return
	}
	http.Redirect(w, r, catalogPath(name), http.StatusSeeOther)
}

// refuseLike takes over the faults of a new instrument.
func (f *form) refuseLike(err error) bool {
	faults := catalogFaults(err)
	for _, fault := range faults {
		switch fault.Path {
		case "instrument":
			f.fault("name", asSentence(fault.Text))
		case "title", "system":
			f.fault(fault.Path, asSentence(fault.Text))
		default:
			f.Whole = asSentence(fault.Text)
		}
	}
	return len(faults) > 0 || f.refuse(err)
}
