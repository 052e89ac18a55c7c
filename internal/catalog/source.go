package catalog

import "boretight/internal/quantity"

// Kind is what sort of knowledge a value is. The zero value means it was not told.
type Kind int

// The kinds, from the weakest on.
const (
	Starting  Kind = iota + 1 // a template's: the usual size, measured on no instrument
	Published                 // read somewhere, of another instrument than that on the bench
	Shop                      // measured by the shop
)

// Source is where a value comes from.
type Source struct {
	Kind Kind
	Text string // what was published, for people; empty for the other kinds
}

// Words for the two kinds that need no text; files may use them in brackets.
const (
	startingWord = "starting value"
	shopWord     = "shop"
)

// String is "starting value", "measured by the shop" or the publication.
func (s Source) String() string {
	switch s.Kind {
	case Starting:
		return startingWord
	case Published:
		return "published: " + s.Text
	case Shop:
		return "measured by the shop"
	}
	return "not told"
}

// Told is a value with where it comes from.
type Told[T any] struct {
	Value  T
	Source Source
}

// Known reports whether the value was told at all.
func (t Told[T]) Known() bool { return t.Source.Kind != 0 }

// Length is a length in m, a Word is text, Words are several.
type (
	Length = Told[quantity.Length]
	Word   = Told[string]
	Words  = Told[[]string]
)
