package web

import "net/http"

// frame is what every page has around its own content.
type frame struct {
	Title   string
	Theme   string // light, dark, or empty: as the system says
	Here    string // the path of the place in the list of places
	Places  []place
	Styles  []string // style sheets beside the common one, below /static/
	Script  string   // of the page, below /static/; mostly empty: a page does without
	Shop    string   // name of the shop; mostly empty
	Version string
	// Back is where the page came from, for its way back; empty: nowhere.
	Back *link
}

// place is an entry of the list of places that each page has.
type place struct{ Path, Name string }

// link is an address with its words.
type link struct{ Path, Name string }

// places are all that a person may go to from everywhere.
var places = []place{
	{"/", "Bench"},
	{"/tickets", "Tickets"},
	{"/instruments", "Instruments"},
	{"/holds", "Holds"},
	{"/trials", "Trials"},
	{"/rig", "Rig"},
	{"/limits", "Limits"},
	{"/catalog", "Catalog"},
	{"/setup", "Set-up"},
	{"/cautions", "Cautions"},
}

// frame returns the frame of a page that belongs to the place here.
func (s *Site) frame(r *http.Request, title, here string, styles ...string) frame {
	return frame{
		Title: title, Theme: theme(r), Here: here, Places: places, Styles: styles, Version: s.version, Shop: s.house().Name,
	}
}
