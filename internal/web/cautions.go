package web

import (
	"net/http"
	"slices"
	"strings"
)

// caution is something that can hurt a person or an instrument, said where it matters. A
// pressure in braces is shown in the shop's unit.
type caution struct {
	ID     string // its place on the page of cautions
	Short  string // in one line, for the bench and the intake
	Long   string // with the reason
	Source string // where that was read; what has no source says so
	// Person tells that a person is at risk, not only an instrument.
	Person bool
}

const unsourced = "common practice, no source"

// cautions are those of work at the bench, most pressing first.
var cautions = []caution{
	{
		ID: "mouth", Person: true,
		Short: "No mouth suction: use a pump or a syringe.",
		Long: "Instruments that were played carry live bacteria, moulds and yeasts, on reeds and in mouthpieces and bores, " +
			"and some of them live there for days. Neither suck nor blow: a hand pump, a bulb or a syringe draws as much, " +
			"and draws it evenly. Nothing in this program ever asks for the mouth.",
		Source: "Marshall and Levy (2011): all of 20 played instruments carried live microbes; test bacteria lived up to 5 days in a clarinet",
	},
	{
		ID:    "pressure",
		Short: "Start low, and stay under {6 kPa}.",
		Long: "Draw slowly up to what the page asks for, and no further. Suction can pull a pad’s skin into its hole and draw glue; " +
			"pressure lifts pads: {10 kPa} lift a pad of 12 mm with 1.1 N, one of 40 mm with 12.6 N. " +
			"{6 kPa} push a stopper of 40 mm out with 7.5 N: keep face and hands out of its way.",
		Source: "forces computed from pressure and area; what they do to pads and glue: " + unsourced,
		Person: true,
	},
	{
		ID: "shop-air", Person: true,
		Short: "Never shop air.",
		Long: "A compressor holds more than a hundred times the pressure of a hold and the energy to go with it: it can burst hoses and joints, and throw stoppers. " +
			"Use a pump of little volume, with a relief at {6 kPa}. Warm, dry or cold compressed air also cracks wood.",
		Source: unsourced,
	},
	{
		ID:    "moves",
		Short: "Stop if a pad, key or joint moves or creaks.",
		Long: "Open the valve first, then look. A cup that lifts, a stopper that creeps, a tenon that turns or wood that creaks tells that the joint is not closed as it should be, or not sound. " +
			"A hold that was stopped is kept and can be set aside with the reason.",
		Source: unsourced,
	},
	{
		ID:    "wood",
		Short: "Wood cracks with fast changes of warmth and humidity.",
		Long: "Wood takes up water and gives it off; one that changes fast or on one side only cracks, most of all in a narrow bore such as the oboe’s upper joint. " +
			"Let a cold joint come to the room for an hour before it is held. Keep the shop between 40 and 60 % of humidity. Swab a wet bore first: its water also moves the reading.",
		Source: "care and repair pages on why joints crack; the figures of humidity and the hour: " + unsourced,
	},
	{
		ID: "work", Person: true,
		Short: "Mind solvents and heat near old materials.",
		Long: "Flame, hot glue, shellac and alcohol on one bench burn together; heated cyanoacrylate gives poisonous fumes: air the room and keep them apart. " +
			"Wear eye protection when needle springs come out. Dust of rosewoods and their kin sensitizes: wear a mask when sanding.",
		Source: unsourced,
	},
	{
		ID:     "makers",
		Short:  "Follow the maker’s instructions, local codes and qualified people.",
		Long:   "What the maker says of the instrument, what your country says of electricity, chemicals and work, and what those say who know the case, counts more than anything on a page of this program.",
		Source: "",
	},
}

// furtherCautions are those that the page of cautions has beside.
var furtherCautions = []caution{
	{
		ID:    "stoppers",
		Short: "Stoppers and tape mark bores, lacquer and old finishes.",
		Long: "A stopper that is forced scratches the bore or jams in a taper; tape lifts old lacquer. Turn stoppers in, never drive them. " +
			"Press keys at their touches, not at cups and arms, which bend. Ask about latex before you use stoppers or gloves of it.",
		Source: unsourced,
	},
	{
		ID: "old", Person: true,
		Short: "Old instruments may hold lead, mercury, arsenic or asbestos.",
		Long: "Solder and plating may hold lead or cadmium, gilding mercury, felts and cases arsenic or pesticides, old bench mats asbestos; ivory has laws of its own. " +
			"In doubt stop, do not sand, heat or blow, and ask a conservator or whoever advises on health at work.",
		Source: "from memory, not confirmed: take it as a reason to ask",
	},
	{
		ID: "skin", Person: true,
		Short:  "Nickel and exotic woods can irritate skin.",
		Long:   "Some 8 % of women and 1 % of men react to nickel; plated keys and touches hold it, and some woods, chromium and cobalt do the like. Wash hands, wear gloves if yours react.",
		Source: "Nakamura and others (1999)",
	},
}

// cautionsView is the page of cautions.
type cautionsView struct {
	Frame    frame
	Cautions []caution
	TooHigh  string
}

// cautions are cautions in the shop's units.
func (u shown) cautions(all []caution) []caution {
	in := strings.NewReplacer("{6 kPa}", u.roughly(hardLimit), "{10 kPa}", u.roughly(10e3))
	told := slices.Clone(all)
	for i := range told {
		told[i].Short, told[i].Long = in.Replace(told[i].Short), in.Replace(told[i].Long)
	}
	return told
}

func (s *Site) cautionRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /cautions", s.cautionsPage)
}

func (s *Site) cautionsPage(w http.ResponseWriter, r *http.Request) {
	u := s.shown()
	s.render(w, r, "cautions.html", cautionsView{
		Frame: s.frame(r, "Cautions", "/cautions", "books.css"), Cautions: u.cautions(slices.Concat(cautions, furtherCautions)), TooHigh: u.roughly(hardLimit),
	})
}
