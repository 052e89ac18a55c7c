package web

import (
	"net/url"
	"strings"

	"boretight/internal/catalog"
)

// tableView is a table of all things of one kind of a joint.
type tableView struct {
	Kind, Title string
	Heads       []string
	Rows        []tableRow
	Add         string // where a new one is told; empty: not here
	AddWords    string
}

// tableRow is one thing with its values. Source is that of most of them; what comes from
// elsewhere says so itself.
type tableRow struct {
	ID, Name string
	Cells    []tableCell
	Source   string
	Shop     bool // the shop measured all of it
	Change   string
	Aloud    string // what a button is for, for who hears it
}

// tableCell is a value. From is empty where it has the source of its row.
type tableCell struct {
	Head, Text, From string
	Short            bool // it is not broken into lines
}

// toldCell is a value with its source.
type toldCell struct {
	text   string
	source catalog.Source
}

func (s *Site) lengthCell(l catalog.Length) toldCell {
	return toldCell{s.shown().length(float64(l.Value)), l.Source}
}

func wordCell(w catalog.Word) toldCell { return toldCell{w.Value, w.Source} }

// tablesOf are the tables of a joint.
func (s *Site) tablesOf(i catalog.Instrument, j catalog.Joint) []tableView {
	path := catalogPath(i.Name, j.Name) + "/change"
	seats := tableView{Kind: catalog.KindSeat, Title: "Seats", Add: path + "?kind=seat", AddWords: "Add a seat",
		Heads: []string{"at", "hole", "land", "pad", "kind of pad", "hinge", "stands", "key", "reach", "can be"}}
	for _, x := range j.Seats {
		seats.add(path, x.Name, s.lengthCell(x.At), s.lengthCell(x.Hole), s.lengthCell(x.Land), s.lengthCell(x.Pad), wordCell(x.PadKind),
			s.lengthCell(x.Hinge), wordCell(x.Stands), wordCell(x.Key), wordCell(x.Reach), toldCell{movesWords(x.Can.Value), x.Can.Source})
	}
	holes := tableView{Kind: catalog.KindHole, Title: "Open holes, stopped by a finger or a plug", Add: path + "?kind=hole", AddWords: "Add an open hole",
		Heads: []string{"at", "diameter", "finger"}}
	for _, x := range j.Holes {
		holes.add(path, x.Name, s.lengthCell(x.At), s.lengthCell(x.Diameter), wordCell(x.Finger))
	}
	ends := tableView{Kind: catalog.KindEnd, Title: "Ends", Add: path + "?kind=end", AddWords: "Add an end", Heads: []string{"at", "closed by"}}
	for _, x := range j.Ends {
		ends.add(path, x.Name, s.lengthCell(x.At), wordCell(x.ClosedBy))
	}
	sections := tableView{Kind: catalog.KindSection, Title: "Sections, which can be closed off and measured apart", Add: path + "?kind=section", AddWords: "Add a section",
		Heads: []string{"from", "to", "volume", "seats"}}
	for _, x := range j.Sections {
		worked := x.From.Source // what is worked out of the section has its source
		volume := "—"
		if v, err := j.SectionVolume(x); err == nil {
			volume = volumeFigure(v.Measured)
		}
		sections.add(path, x.Name, s.lengthCell(x.From), s.lengthCell(x.To), toldCell{volume, worked}, toldCell{strings.Join(j.SeatsIn(x), ", "), worked})
	}
	bore := tableView{Kind: catalog.KindBore, Title: "Bore, piece by piece from the player’s end", Heads: []string{"length", "from diameter", "to diameter"}}
	for n, p := range j.Bore {
		bore.add(path, "piece "+plain(float64(n+1)), s.lengthCell(p.Length), s.lengthCell(p.From), s.lengthCell(p.To))
		bore.Rows[n].Change = path + "?kind=bore"
	}
	return []tableView{seats, holes, ends, sections, bore}
}

// shortText in letters is never broken into lines: a figure with its unit, or a word.
const shortText = 9

// add adds a row.
func (t *tableView) add(path, name string, cells ...toldCell) {
	count := map[string]int{}
	row := tableRow{ID: t.Kind + "-" + idOf(name), Name: name,
		Change: path + "?kind=" + t.Kind + "&name=" + url.QueryEscape(name), Aloud: t.Kind + " " + name}
	for _, c := range cells {
		from := c.source.String()
		if count[from]++; count[from] > count[row.Source] {
			row.Source, row.Shop = from, c.source.Kind == catalog.Shop
		}
	}
	for n, c := range cells {
		cell := tableCell{Head: t.Heads[n], Text: c.text, Short: len(c.text) <= shortText}
		if from := c.source.String(); from != row.Source {
			cell.From = from
		}
		row.Cells = append(row.Cells, cell)
	}
	if own := shopsOwn(t.Heads, cells); len(own) > 0 && !row.Shop {
		row.Source = strings.Join(own, ", ") + " measured by the shop, the others: " + row.Source
	}
	t.Rows = append(t.Rows, row)
}

// shopsOwn are the heads of the values that the shop measured.
func shopsOwn(heads []string, cells []toldCell) (own []string) {
	for n, c := range cells {
		if c.source.Kind == catalog.Shop {
			own = append(own, heads[n])
		}
	}
	return own
}

// idOf makes a name one that an address may have behind its #.
func idOf(name string) string {
	return url.QueryEscape(strings.ReplaceAll(name, " ", "-"))
}

var moveWords = map[string]string{catalog.Press: "pressed", catalog.Plug: "plugged", catalog.Tape: "taped"}

func movesWords(moves []string) string {
	words := make([]string, len(moves))
	for n, m := range moves {
		words[n] = moveWords[m]
	}
	return strings.Join(words, ", ")
}
